import { expect, it } from 'vitest'
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
