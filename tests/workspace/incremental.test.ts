import { describe, expect, it } from 'vitest'
import { createService } from '../../server/service.ts'
import { bench } from '../features/bench.ts'
import { memoryFiles } from '../harness/file-systems.ts'

/** An edit in one profile evaluates that profile and those that start from it, and no other, in whatever file. */

const profile = (name: string, from?: string): string => `
profile ${name}${from === undefined ? '' : ` based-on ${from}`} {
  part sample-b7
  cooler big-loop
  room garage
  steps {
    1 to 2 cores   57x
    3 to 12 cores  50x
  }
}
`
const uriOf = (name: string): string => `memory://w/${name}.detent`
const files: Record<string, string> = { [uriOf('bench')]: bench }
for (let index = 0; index < 20; index++) {
  const own = [0, 1, 2, 3].map(each => profile(`p-${index}-${each}`)).join('')
  files[uriOf(`file-${index}`)] = `detent 1\nuse "bench.detent"\n${own}`
}
files[uriOf('derived')] = `detent 1\nuse "file-0.detent"\n${profile('d', 'p-0-2')}${profile('e', 'p-0-1')}`

it('evaluates what was edited and what starts from it', async () => {
  const service = createService(memoryFiles(files))
  const uris = Object.keys(files)
  await service.workspace.load(uris)
  const all = (): ReadonlyMap<string, unknown> =>
    new Map(uris.flatMap(uri => service.evaluations(uri).map(one => [one.profile.definition.name, one] as const)))
  const before = all()
  expect(before.size).toBe(82)
  const edited = uriOf('file-0')
  const text = files[edited] ?? ''
  const place = text.indexOf('50x', text.indexOf('profile p-0-2'))
  service.workspace.set(edited, `${text.slice(0, place)}49x${text.slice(place + 3)}`, 1)
  const changed = [...all()].filter(([name, evaluation]) => before.get(name) !== evaluation).map(([name]) => name)
  expect(changed.sort()).toEqual(['d', 'p-0-2'])
})

it('evaluates all that names a part whose figures were edited, and nothing for a comment elsewhere', async () => {
  const service = createService(memoryFiles(files))
  const uris = Object.keys(files)
  await service.workspace.load(uris)
  const all = (): readonly unknown[] => uris.flatMap(uri => service.evaluations(uri))
  const before = all()
  service.workspace.set(uriOf('bench'), `# a comment\n${bench}`, 1)
  expect(all()).toEqual(before)
  expect(all().every((one, index) => one === before[index])).toBe(true)
  service.workspace.set(uriOf('bench'), bench.replace('2.1 nF', '2.2 nF'), 2)
  expect(all().filter((one, index) => one === before[index])).toEqual([])
})

it('keeps what it made of a text that some clients send twice', () => {
  const service = createService(memoryFiles({}))
  const uri = uriOf('bench')
  const first = service.workspace.set(uri, bench, 3)
  expect(service.workspace.set(uri, bench, 3)).toBe(first)
  // Another version is another document: edits name the version that they are for.
  expect(service.workspace.set(uri, bench, 4)).toMatchObject({ version: 4 })
  expect(service.workspace.set(uri, `${bench}\n`, 4).source.text).toBe(`${bench}\n`)
})

describe('typing in a file of runs', () => {
  const runs = `detent 1
use "bench.detent"
${profile('p')}
load extra { cores 4; activity 0.5 }
run early of p under render {
  air 21 °C
  measured { power 150 W; die 71 °C }
}
run late of p under render {
  air 22 °C
  measured { power 150 W; die 71 °C }
}
`
  const uri = uriOf('runs')
  const opened = async () => {
    const service = createService(memoryFiles({ [uriOf('bench')]: bench, [uri]: runs }))
    await service.workspace.load([uri])
    const predicted = () => service.bench.compared(uri).map(run => run.predicted?.prediction)
    return { service, predicted, type: (text: string, version: number) => service.workspace.set(uri, text, version) }
  }

  it('predicts no run again for what changes no prediction', async () => {
    const { predicted, type } = await opened()
    const before = predicted()
    expect(before.every(one => one !== undefined)).toBe(true)
    type(runs.replace('  air 21 °C', '  # a remark\n  air 21 °C'), 1)
    expect(predicted().every((one, index) => one === before[index])).toBe(true)
    type(runs.replace('71 °C', '72 °C'), 2)
    expect(predicted().every((one, index) => one === before[index])).toBe(true)
    type(runs.replace('air 21 °C', 'air 25 °C'), 3)
    const [early, late] = predicted()
    expect(early).not.toBe(before[0])
    expect(early?.settled.dieC).toBeGreaterThan(before[0]?.settled.dieC ?? 0)
    expect(late).toBe(before[1])
  })

  it('predicts one load again where one is edited, and says of it what a fresh reading says', async () => {
    const { service, predicted, type } = await opened()
    const of = (load: string) => service.evaluations(uri)[0]?.predictions.filter(one => one.load.name === load) ?? []
    const [render, extra, before] = [of('render'), of('extra'), predicted()]
    expect(extra).not.toEqual([])
    const text = runs.replace('activity 0.5', 'activity 0.9')
    type(text, 1)
    expect(of('render').every((one, index) => one === render[index])).toBe(true)
    expect(predicted().every((one, index) => one === before[index])).toBe(true)
    expect(of('extra')[0]?.settled.powerW).toBeGreaterThan(extra[0]?.settled.powerW ?? 0)
    const fresh = createService(memoryFiles({ [uriOf('bench')]: bench, [uri]: text }))
    await fresh.workspace.load([uri])
    expect(of('extra').map(one => one.settled)).toEqual(
      fresh
        .evaluations(uri)[0]
        ?.predictions.filter(one => one.load.name === 'extra')
        .map(one => one.settled),
    )
    expect(service.findings(uri)).toEqual(fresh.findings(uri))
  })
})

describe('findings after an edit', () => {
  const first = `detent 1

${bench.replace(/^detent 1\s*/, '')}
room attic { air 26 °C; humidity 50 % }
${profile('day')}
profile night based-on day { drive off; expect render die <= 90 °C }
profile late based-on night { vector -1x; allow steps-gap "so it is" }
`
  /** What is replaced by what, one after the other: names come, go, lead elsewhere and come back. */
  const edits: readonly (readonly [string, string])[] = [
    ['room garage\n', 'room attic\n'],
    ['room attic\n', 'room shed\n'],
    ['room attic {', 'room shed {'],
    ['room shed\n', 'room garage\n'],
    ['profile late based-on night', 'profile late based-on late'],
    ['profile late based-on late', 'profile late based-on day'],
    ['part sample-b7 {', 'part other {'],
    ['part other {', 'part sample-b7 {'],
    ['detent 1\n', ''],
    ['profile night', 'room garage { air 20 °C; humidity 50 % }\nprofile night'],
    ['3 to 12 cores  50x', '3 to 11 cores  50x'],
    ['load pair {', 'load pairs {'],
    ['  room garage\n', ''],
    ['cooler big-loop\n', 'cooler te-plate\n'],
    ['load pairs { cores 2; activity 0.9 }', 'load pairs { cores 2; activity 9 }'],
    ['room shed { air', 'rroom shed { air'],
    ['drive off;', 'room shed; drive off;'],
    ['57x', '5.7 GHz'],
  ]

  it('are those of a fresh reading, whatever led elsewhere', async () => {
    const uri = uriOf('all')
    const service = createService(memoryFiles({ [uri]: first }))
    await service.workspace.load([uri])
    let text = first
    const plain = (one: ReturnType<typeof createService>) =>
      one.findings(uri).map(({ start, end, finding }) => [start, end, finding.code, finding.severity, finding.message])
    const seen = new Set<string>()
    for (const [index, [before, after]] of edits.entries()) {
      expect(text).toContain(before)
      text = text.replace(before, after)
      service.workspace.set(uri, text, index + 1)
      const fresh = createService(memoryFiles({ [uri]: text }))
      await fresh.workspace.load([uri])
      const found = plain(service)
      expect(found, `${before} by ${after}`).toEqual(plain(fresh))
      for (const [, , code] of found) seen.add(String(code))
    }
    // What looks at more than one definition was found on the way.
    for (const code of [
      'unknown-name',
      'unused-name',
      'missing-key',
      'based-on-cycle',
      'duplicate-name',
      'steps-gap',
      'unit-mismatch',
    ])
      expect([...seen]).toContain(code)
  })

  it('resolve a profile again only where a name in it leads elsewhere', async () => {
    const uri = uriOf('all')
    const service = createService(memoryFiles({ [uri]: first }))
    await service.workspace.load([uri])
    const resolved = () => service.evaluations(uri).map(({ profile: one }) => one)
    const before = resolved()
    service.workspace.set(uri, first.replace('air 26 °C', 'air 27 °C'), 1)
    expect(resolved().every((one, index) => one === before[index])).toBe(true)
    service.workspace.set(
      uri,
      first.replace('profile night based-on day { ', 'profile night based-on day { vector -1x; '),
      2,
    )
    const after = resolved()
    expect(after.map((one, index) => one === before[index])).toEqual([true, false, false])
    expect(after[2]?.chain[1]).toBe(after[1]?.definition)
  })
})
