import { describe, expect, it } from 'vitest'
import { createService } from '../../server/service.ts'
import { memoryFiles } from '../harness/file-systems.ts'
import { railed, soundSteps, twoGroups } from '../harness/two-groups.ts'

/** What the expectations of a profile on the two-group bench come to, by their lines. */
async function judged(lines: readonly string[], more = '', steps = soundSteps) {
  const uri = 'file:///bench/a.detent'
  const text = twoGroups(`${steps}\n${lines.map(line => `  expect ${line}`).join('\n')}`, more)
  const service = createService(memoryFiles({ [uri]: text }))
  await service.workspace.load([uri])
  const [evaluation] = service.evaluations(uri)
  if (evaluation === undefined) throw new Error('the bench has one profile')
  service.expectations(evaluation)
  service.runs.makeAll()
  return new Map(service.expectations(evaluation).map(one => [one.text, one]))
}

async function findingsAt(text: string) {
  const uri = 'file:///bench/a.detent'
  const service = createService(memoryFiles({ [uri]: text }))
  await service.workspace.load([uri])
  return { findings: service.findings(uri).map(({ finding }) => finding) }
}

describe('expectations of a part with groups', () => {
  it('speak of the named group, and without a name of the first that has active cores', async () => {
    const found = await judged([
      'whole holds >= 4.9 GHz',
      'whole holds small >= 3.9 GHz',
      'whole holds small >= 4.1 GHz',
    ])
    expect(found.get('whole holds >= 4.9 GHz')).toMatchObject({ holds: true, predicted: expect.closeTo(5, 9) })
    expect(found.get('whole holds small >= 3.9 GHz')).toMatchObject({ holds: true, predicted: expect.closeTo(4, 9) })
  })

  it('say which group they are about, what holds it, and the step of that group that would do', async () => {
    const text = railed(
      twoGroups(`${soundSteps}
  bands broad { 1 to 4 cores above 40 °C -2x }
  expect whole holds small >= 4.2 GHz
  expect whole holds broad >= 5.0 GHz
  expect whole voltage small <= 1.10 V`),
    )
    const { findings } = await findingsAt(text)
    const [small, broad, voltage] = findings.filter(({ code }) => code === 'expect-failed')
    // A band of the other group does not hold this one.
    expect(small?.message).toMatch(/^Clock of small 0\.2 GHz below .* limits it there is the step itself \(40x/)
    expect(broad?.message).toMatch(/^Clock of broad .* limits it there is a temperature band/)
    expect([small?.group, broad?.group]).toEqual(['small', 'broad'])
    const step = /A step of ([\d.]+)x for these cores of small would hold/.exec(voltage?.message ?? '')?.[1]
    expect(step).toBeDefined()
    const lower = await findingsAt(text.replace('1 to 10 cores  40x', `1 to 10 cores  ${step}x`))
    expect(lower.findings.some(({ message }) => message.includes('whole'))).toBe(true)
    expect(lower.findings.filter(({ message }) => message.startsWith('Voltage of small'))).toEqual([])
  })

  it('of two for one load the group tells them apart', async () => {
    const found = await judged(['whole holds broad >= 4 GHz', 'whole holds small >= 4.5 GHz'])
    expect([...found.values()].map(({ holds }) => holds)).toEqual([true, false])
  })

  it('voltage and current are those of the group’s rail', async () => {
    const found = await judged(['whole voltage small <= 1.30 V', 'whole current small <= 300 A'])
    expect(found.size).toBe(2)
    for (const { holds, predicted } of found.values()) {
      expect(holds).toBe(true)
      expect(predicted).toBeGreaterThan(0)
    }
  })

  it('pass over counts at which the group is idle, and are undecided where all are', async () => {
    const spread = 'load spread { cores broad 2; cores small 0 to 3; activity 1.0 }\n'
    const found = await judged(['few holds small >= 3 GHz', 'spread holds small >= 3 GHz'], spread)
    expect(found.get('few holds small >= 3 GHz')).toMatchObject({
      holds: null,
      undecided: 'group `small` is idle under `few`',
    })
    expect(found.get('spread holds small >= 3 GHz')).toMatchObject({ holds: true, predicted: expect.closeTo(4, 9) })
  })

  it('of a load left out are undecided and say why', async () => {
    const strange = 'load strange { cores tiny 2; activity 1.0 }\nload much { cores broad 9; activity 1.0 }\n'
    const found = await judged(['much holds >= 3 GHz', 'strange holds >= 3 GHz', 'whole holds tiny >= 3 GHz'], strange)
    expect(found.get('much holds >= 3 GHz')?.undecided).toBe('the load asks for more cores than the part has')
    expect(found.get('strange holds >= 3 GHz')).toMatchObject({
      holds: null,
      undecided: 'it keeps cores of a group busy that the part does not have',
    })
    expect(found.get('whole holds tiny >= 3 GHz')).toMatchObject({
      holds: null,
      undecided: 'the part has no group `tiny`',
    })
  })

  it('say which group has no row of steps for some of its cores', async () => {
    const loads =
      'load spread { cores broad 2; cores small 6 to 8; activity 1.0 }\nload most { cores broad 3 to 4; cores small 9 }\n'
    const steps = soundSteps.replace('1 to 10 cores  40x', '1 to 7 cores  40x').replace('3 to 4 cores', '3 cores')
    expect(steps).not.toBe(soundSteps)
    const lines = ['spread holds >= 3 GHz', 'spread holds small >= 3 GHz', 'most holds small >= 3 GHz']
    const found = await judged(
      [...lines, 'course evening die <= 90 °C'],
      `${loads}course evening { most 1 min }\n`,
      steps,
    )
    expect(lines.map(line => found.get(line)?.undecided)).toEqual([
      'no row of `steps` covers 8 cores of small',
      'no row of `steps` covers 8 cores of small',
      'no row of `steps` covers 9 cores of small and 4 cores of broad',
    ])
    expect(found.get('course evening die <= 90 °C')?.undecided).toBe(
      'no row of `steps` covers 4 cores of broad and 9 cores of small of a load of `evening`',
    )
  })

  it('hold for a time as the clock of the named group does', async () => {
    const found = await judged([
      'whole holds >= 4.9 GHz for 1 min',
      'whole holds small >= 3.9 GHz for 1 min',
      'whole holds small >= 4.1 GHz for 1 min',
      'few holds small >= 3 GHz for 1 min',
    ])
    expect(found.get('whole holds >= 4.9 GHz for 1 min')).toMatchObject({
      holds: true,
      predicted: expect.closeTo(5, 9),
    })
    expect(found.get('whole holds small >= 3.9 GHz for 1 min')).toMatchObject({
      holds: true,
      predicted: expect.closeTo(4, 9),
    })
    expect(found.get('whole holds small >= 4.1 GHz for 1 min')).toMatchObject({ holds: false, lastsS: 0 })
    expect(found.get('few holds small >= 3 GHz for 1 min')).toMatchObject({
      holds: null,
      undecided: 'group `small` is idle under `few`',
    })
  })

  it('of a course speak of the named group', async () => {
    const evening = 'course evening { start room; few 2 s; whole 4 s }\ncourse quiet { few 2 s }\n'
    const found = await judged(
      [
        'course evening holds >= 4.9 GHz',
        'course evening holds small >= 3.9 GHz',
        'course evening holds small >= 4.1 GHz',
        'course evening current small <= 400 A',
        'course quiet holds small >= 3 GHz',
        'course evening holds tiny >= 3 GHz',
      ],
      evening,
    )
    expect(found.get('course evening holds >= 4.9 GHz')).toMatchObject({ holds: true, predicted: expect.closeTo(5, 9) })
    expect(found.get('course evening holds small >= 3.9 GHz')).toMatchObject({
      holds: true,
      predicted: expect.closeTo(4, 9),
    })
    expect(found.get('course evening holds small >= 4.1 GHz')).toMatchObject({ holds: false })
    expect(found.get('course evening current small <= 400 A')?.predicted).toBeGreaterThan(10)
    expect(found.get('course quiet holds small >= 3 GHz')).toMatchObject({
      holds: null,
      undecided: 'group `small` is idle throughout `quiet`',
    })
    expect(found.get('course evening holds tiny >= 3 GHz')).toMatchObject({
      holds: null,
      undecided: 'the part has no group `tiny`',
    })
  })
})
