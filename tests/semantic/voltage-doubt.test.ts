import { describe, expect, it } from 'vitest'
import { expectationsOf } from '../../server/semantic/expectations.ts'
import { probabilityOf } from '../../server/semantic/probability.ts'
import { demo, edited, findingsOf } from '../checks/demo.ts'
import { foundIn } from '../harness/check.ts'
import { loadFixture, uriOf } from '../harness/fixture.ts'
import { onBench } from '../harness/sound-bench.ts'

/** A clock is held only where the load would run at the voltage it is given, and where the machine does not stop. */

async function judged(text: string) {
  const { service } = await loadFixture(text)
  const [evaluation] = service.evaluations(uriOf('a.detent'))
  if (evaluation === undefined) throw new Error('no profile')
  const ask = () => service.expectations(evaluation)
  if (ask().some(({ pending }) => pending)) service.runs.makeAll()
  return { evaluation, all: ask() }
}

const lines = (voltage: string, step: string, expected: string): string => `  steps { 1 to 4 cores ${step} }
  voltage { core ${voltage} }
  expect weave holds >= ${expected}
  expect weave die <= 90 °C`

describe('a clock', () => {
  it('is undecided where the die gets less than it needs; what else is asked is judged', async () => {
    const text = onBench(lines('needs - 30 mV', '46x', '4.5 GHz'))
    const { all } = await judged(text)
    expect(all.map(({ holds, undecided }) => [holds, undecided])).toEqual([
      [null, 'at 46x the die gets 1.130 V, 30 mV less than it needs'],
      [true, undefined],
    ])
    expect(all[0]?.doubt?.code).toBe('voltage-short')
    // The setting that is to blame has the finding, and the expectation none as well.
    expect(foundIn(await loadFixture(text)).map(({ finding }) => finding.code)).toEqual(['voltage-short'])
  })

  it('is undecided beyond the last row of `needs`, without a probability', async () => {
    const text = onBench(lines('needs + 10 mV', '46x', '4.5 GHz'))
      .replace('    50x   1.240 V\n', '')
      .replace('switching 2.0 nF', 'switching 2.0 nF ± 0.1 nF')
    const { evaluation, all } = await judged(text)
    const [clock, die] = all
    expect(clock).toMatchObject({ holds: null, doubt: { code: 'needs-short' } })
    expect(clock?.undecided).toBe('46x is faster than 40x, the last row of `needs`: what it needs was not measured')
    expect(clock && probabilityOf(evaluation, clock)).toBeUndefined()
    expect(die && probabilityOf(evaluation, die)).toBeGreaterThan(0.9)
    expect(foundIn(await loadFixture(text)).map(({ finding }) => finding.code)).toEqual(['needs-short'])
  })

  it('that fails anyway fails', async () => {
    const { all } = await judged(onBench(lines('needs - 30 mV', '46x', '4.8 GHz')))
    expect(all[0]?.holds).toBe(false)
    expect(all[0]?.predicted).toBeCloseTo(4.6, 9)
    expect(all[0]?.doubt).toBeUndefined()
  })

  it('over a time is undecided where the cool die begins beyond `needs`', async () => {
    const text = onBench(`  steps { 1 to 4 cores 46x }
  bands { 1 to 4 cores above 30 °C -8x }
  voltage { core needs + 10 mV }
  expect weave holds >= 3.7 GHz for 1 min`).replace('    50x   1.240 V\n', '')
    const { all } = await judged(text)
    expect(all[0]).toMatchObject({ holds: null, doubt: { code: 'needs-short' } })
    const measured = (await judged(text.replace('40x   1.040 V', '40x   1.040 V\n    46x   1.160 V'))).all
    expect(measured[0]?.holds).toBe(true)
  })

  it('is not held where the die settles at its trip', async () => {
    const hot = demo('over-limit')
    const line = hot.split('\n').find(one => /^ {2}voltage/.test(one)) as string
    const text = hot.replace(line, `${line}\n  expect burn holds >= 0.5 GHz`)
    const { predictions } = (await judged(text)).evaluation
    const dieC = Math.max(...predictions.map(({ load, settled }) => (load.name === 'burn' ? (settled.dieC ?? 0) : 0)))
    expect(dieC).toBeGreaterThan(0)
    const tripC = Math.floor(dieC) - 1
    const atTrip = text.replace(/ {2}die-limit .*\n/, `$&  trip ${tripC} °C\n`)
    const [stopped] = (await judged(atTrip)).all
    expect(stopped).toMatchObject({ holds: false, stopsAtC: tripC })
    const [kept] = (await judged(text.replace(/ {2}die-limit .*\n/, `$&  trip ${tripC + 3} °C\n`))).all
    expect(kept?.holds).toBe(true)
    const messages = await findingsOf('expect-failed', atTrip)
    expect(messages[0]?.finding.message).toMatch(/^Machine stops: .* brings the die to [\d.]+ °C, and \d+ °C is where/)
    expect(messages[0]?.finding.fixes ?? []).toEqual([])
  })
})

describe('a plate that is driven to what is expected of it', () => {
  const uncertain = edited(
    demo('expect-exact').replace('switching 1.6 nF', 'switching 1.6 nF ± 0.05 nF'),
    ['expect idle plate above dew by 2 K', 'expect burn plate above dew by 2 K'],
    ['48x', '30x'],
  )

  it('holds with the probability that goes with it, and nothing left over', async () => {
    const { evaluation, all } = await judged(uncertain)
    const [plate] = all
    expect(plate).toMatchObject({ holds: true, exact: true })
    expect(plate && probabilityOf(evaluation, plate)).toBeGreaterThan(0.99)
    expect(Math.abs((plate?.predicted ?? 0) - 2)).toBeLessThanOrEqual(1e-6)
  })

  it('has something left over where less is expected', async () => {
    const { evaluation, all } = await judged(edited(uncertain, ['above dew by 2 K', 'above dew by 1.99 K']))
    expect(all[0]).toMatchObject({ holds: true })
    expect(all[0]?.exact).toBeUndefined()
    expect(expectationsOf(evaluation)[0]?.exact).toBeUndefined()
  })

  it('is said so at the line', async () => {
    const { service } = await loadFixture(demo('expect-exact'))
    const uri = uriOf('a.detent')
    const offset = (service.workspace.document(uri)?.source.text ?? '').indexOf('above dew')
    expect(service.features.hover(uri, offset)?.text).toContain('with nothing left over: the error of a sensor decides')
    const [finding] = await findingsOf('expect-exact', demo('expect-exact'))
    expect(finding?.finding).toMatchObject({ severity: 'hint' })
    expect(finding?.finding.message).toMatch(/^`idle plate above dew by 2 K` holds with nothing left over/)
  })
})
