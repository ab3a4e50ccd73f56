import { join } from 'node:path'
import { afterEach, describe, expect, it } from 'vitest'
import { uriOfPath } from '../../server/workspace/node-files.ts'
import { bench } from '../features/bench.ts'
import { startClient, type TestClient } from '../harness/client.ts'
import { type TemporaryFolder, temporaryFolder } from '../harness/process.ts'

/** Folders whose addresses begin alike, and folders in folders: every file belongs to the innermost that it is in. */

const profile = `detent 1
profile daily {
  part sample-b7
  steps {
    1 to 2 cores   57x
    5 to 12 cores  50x
  }
}
`

let client: TestClient | undefined
let disk: TemporaryFolder | undefined

afterEach(async () => {
  const problems = await client?.stop()
  client = undefined
  disk?.[Symbol.dispose]()
  disk = undefined
  expect(problems ?? []).toEqual([])
})

interface Report {
  readonly items: readonly {
    readonly uri: string
    readonly items: readonly { readonly code: string; readonly severity: number }[]
  }[]
}

/** The protocol's numbers. */
const severityNumbers = { error: 1, warning: 2, information: 3, hint: 4 } as const
type Word = keyof typeof severityNumbers

/** An editor that holds the settings by folder, and gives each scope those of the innermost folder that it is in. */
async function start(words: Readonly<Record<string, Word>>, files: readonly string[]): Promise<TestClient> {
  disk = temporaryFolder(Object.fromEntries(files.map(file => [file, bench + profile.slice('detent 1\n'.length)])))
  const own = uriOfPath(disk.path)
  const settings = (scope: string | undefined): unknown => {
    const within = Object.keys(words).filter(folder => `${scope}/`.startsWith(`${own}/${folder}/`))
    const word = words[within.sort((a, b) => b.length - a.length)[0] ?? '']
    return word === undefined ? null : { checks: { severity: { 'steps-gap': word } } }
  }
  client = await startClient({ folders: Object.keys(words).map(folder => `${own}/${folder}`), settings })
  return client
}

describe.each([
  ['whose addresses begin alike', { bench: 'hint', bench2: 'warning' }],
  ['whose addresses begin alike, the other way about', { bench2: 'warning', bench: 'hint' }],
  ['in folders', { outer: 'hint', 'outer/in': 'information' }],
  ['in folders, the other way about', { 'outer/in': 'information', outer: 'hint' }],
] as [string, Record<string, Word>][])('folders %s', (_, words) => {
  const files = Object.keys(words).map(folder => `${folder}/a.detent`)
  const expected = (): ReadonlyMap<string, number> =>
    new Map(
      Object.entries(words).map(([folder, word]) => [
        uriOfPath(join(disk?.path ?? '', folder, 'a.detent')),
        severityNumbers[word],
      ]),
    )
  const gapsIn = async ({ request }: TestClient): Promise<ReadonlyMap<string, number | undefined>> => {
    const { items } = await request<Report>('workspace/diagnostic', { previousResultIds: [] })
    return new Map(items.map(({ uri, items }) => [uri, items.find(one => one.code === 'steps-gap')?.severity]))
  }

  it('have each their own settings, for closed files', async () => {
    expect(await gapsIn(await start(words, files))).toEqual(expected())
  })

  it('have each their own settings, for open files', async () => {
    const own = await start(words, files)
    for (const uri of expected().keys()) await own.open(uri, bench + profile.slice('detent 1\n'.length))
    expect(await gapsIn(own)).toEqual(expected())
  })
})

it('an address is spelled as the innermost folder spells it', async () => {
  const outer = 'memory://w/bench@1'
  const inner = `${outer}/in@`
  const uri = `${inner}/a.detent`
  client = await startClient({ folders: [outer, inner], files: { 'memory://w/bench%401/in%40/a.detent': bench } })
  client.connection.onRequest('detent/findFiles', () => [uri])
  await client.notify('workspace/didChangeWorkspaceFolders', {
    event: { added: [{ uri: outer, name: 'a' }], removed: [] },
  })
  const { items } = await client.request<Report>('workspace/diagnostic', { previousResultIds: [] })
  expect(items.map(one => one.uri)).toEqual([uri])
})

describe('a folder that is taken away', () => {
  it('takes its symbols with it, but for what an open document still uses', async () => {
    disk = temporaryFolder({
      'one/a.detent': 'detent 1\nroom attic {\n  air 20 °C\n  humidity 40 %\n}\n',
      'two/b.detent': 'detent 1\nroom cellar {\n  air 15 °C\n  humidity 60 %\n}\n',
      'two/c.detent': 'detent 1\nroom shed {\n  air 10 °C\n  humidity 60 %\n}\n',
    })
    const own = uriOfPath(disk.path)
    const [one, two] = [`${own}/one`, `${own}/two`]
    client = await startClient({ folders: [one, two] })
    const names = async (): Promise<readonly string[]> =>
      ((await client?.request<readonly { name: string }[] | null>('workspace/symbol', { query: '' })) ?? []).map(
        ({ name }) => name,
      )
    expect(await names()).toEqual(['attic', 'cellar', 'shed'])
    const folders = (added: readonly string[], removed: readonly string[]) => ({
      event: { added: added.map(uri => ({ uri, name: uri })), removed: removed.map(uri => ({ uri, name: uri })) },
    })
    await client.notify('workspace/didChangeWorkspaceFolders', folders([], [two]))
    expect(await names()).toEqual(['attic'])
    await client.open(`${two}/b.detent`, 'detent 1\nuse "c.detent"\nroom cave { air 9 °C; humidity 70 % }\n')
    await client.notify('workspace/didChangeWorkspaceFolders', folders([], [one]))
    // A document alone may use what lies beside it.
    await expect.poll(names).toEqual(['cave', 'shed'])
    await client.notify('workspace/didChangeWorkspaceFolders', folders([one, two], []))
    await expect.poll(names).toEqual(['attic', 'cave', 'shed'])
  })
})
