import { describe, expect, it } from 'vitest'
import { fixed, foundIn } from '../harness/check.ts'
import { loadFixture, uriOf } from '../harness/fixture.ts'
import { onBench } from '../harness/sound-bench.ts'
import { demo, edited, findingsOf, messageOf, placesOf } from './demo.ts'

const code = 'expect-failed'
const asked = (line: string): string => edited(demo(code), ['expect burn holds >= 5.2 GHz', `expect burn ${line}`])

describe('expect-failed', () => {
  it('names the figure, what limits it and the way out', async () => {
    const [found] = await findingsOf(code, demo(code))
    expect(found?.under).toBe('expect burn holds >= 5.2 GHz')
    expect(found?.finding.message).toMatch(
      /^Clock 0\.2 GHz below what is expected: `burn` on .* holds 5 GHz where at least 5\.2 GHz is expected/,
    )
    expect(found?.finding.message).toContain('what limits it there is the step itself')
    expect(found?.finding.message).toContain('It takes a step of 52x')
    expect(found?.finding.load).toBe('burn')
  })

  it('lets the figure itself pass', async () => {
    expect(await placesOf(code, asked('holds >= 5.0 GHz'))).toEqual([])
    expect(await placesOf(code, asked('holds <= 5000 MHz'))).toEqual([])
  })

  // By hand: 117.7 W through 0.195 K/W over air of 24 °C, and 64 W/V² · (1.235 V)² / 8 = 12.2 W through 0.5 K/W: 53.05 °C.
  it.each([
    ['die <= 40 °C', 'brings the die to 53.05', /die <= 5\d\.\d °C/],
    ['power <= 100 W', 'takes 117.', /power <= 118 W/],
    ['current <= 60 A', 'draws ', /current <= \d+ A/],
    ['coolant <= 25 °C', 'brings the coolant to', /coolant <= 29\.\d °C/],
    ['voltage >= 1.30 V', 'gives the die 1.235 V', /voltage >= 1\.235 V/],
    ['margin >= 900 W', 'leaves a margin of', /margin >= \d+ W/],
  ])('judges `%s` and writes what is predicted, rounded so that it holds', async (line, words, written) => {
    expect(await messageOf(code, asked(line))).toContain(words)
    expect(await fixed(code, asked(line))).toMatch(written)
  })

  it('names a step that would hold', async () => {
    expect(await messageOf(code, asked('power <= 100 W'))).toMatch(
      /A step of 4\dx for these cores would hold, [\d.]+ W less/,
    )
  })

  it('says on which side of the dew point a plate is', async () => {
    const text = edited(demo('condensation'), [
      '  voltage {',
      '  expect idle plate above dew by 2 K\n  expect burn plate above dew by -8 K\n  voltage {',
    ])
    // The dew point of 24 °C and 55 % is 14.40 °C, the plate is held at 8 °C.
    const message = await messageOf(code, text)
    expect(message).toMatch(
      /^Plate 8\.4\d? K below what is expected: `idle` .* keeps the plate 6\.4\d? K below the dew point where at least 2 K above it is expected/,
    )
    const warm = edited(text, ['hold 8 °C', 'hold 15 °C'])
    expect(await messageOf(code, warm)).toMatch(/^Plate 1\.\d+ K below .* keeps the plate 0\.\d+ K above the dew point/)
  })

  it('says so where not even the first second of a time holds', async () => {
    const text = asked('holds >= 5.2 GHz for 10 s')
    const loaded = await loadFixture(text)
    loaded.service.findings(uriOf('a.detent'))
    loaded.service.runs.makeAll()
    const messages = foundIn(loaded).flatMap(({ finding }) => (finding.code === code ? [finding.message] : []))
    expect(messages).toHaveLength(1)
    expect(messages[0]).toContain('From an idle bench not even the first second holds of 10 s')
  })

  it('names the worst corner', async () => {
    expect(await messageOf(code, asked('die <= 40 °C'))).toContain('`burn` on 8 active cores at 24 °C air')
  })

  it('is fixed in a derived profile by an expectation of its own', async () => {
    const text = `${asked('holds >= 5.0 GHz')}\nprofile night based-on daily {\n  steps { 1 to 8 cores 44x }\n}\n`
    expect(await placesOf(code, text)).toEqual(['daily'])
    expect(await fixed(code, text)).toContain('expect burn holds >= 4.40 GHz')
  })

  it('offers no figure where nothing is steady', async () => {
    const text = edited(demo('thermal-runaway'), ['  voltage {', '  expect burn die <= 90 °C\n  voltage {'])
    const [found] = await findingsOf(code, text)
    expect(found?.finding.message).toContain('has no steady temperature')
    expect(found?.finding.fixes ?? []).toEqual([])
  })
})

describe('expect-failed on an uneven load', () => {
  it('says where the unevenness decides', async () => {
    const lines = '  steps { 1 to 4 cores 46x }\n  voltage { core needs + 20 mV }\n'
    const dieC = async (load: string, limit: string): Promise<readonly string[]> => {
      const { service } = await loadFixture(onBench(`${lines}  expect loom die <= ${limit} °C`, load))
      return service.findings(uriOf('a.detent')).map(({ finding }) => `${finding.code} ${finding.message}`)
    }
    const even = 'load loom { cores 4 }'
    const uneven = 'load loom { cores 4; uneven 1.5 }'
    const [failed] = await dieC(even, '20')
    const foundC = Number(/to ([\d.]+) °C/.exec(failed ?? '')?.[1])
    expect(foundC).toBeGreaterThan(30)
    const [decided] = await dieC(uneven, (foundC + 0.5).toFixed(1))
    expect(decided).toContain(' `uneven 1.5` decides: with all cores alike it would hold.')
    expect((await dieC(uneven, '20'))[0]).not.toContain('decides')
  })
})
