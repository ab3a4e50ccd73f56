import { writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import type { Range, TextDocumentEdit } from 'vscode-languageserver/node'
import { TextDocument } from 'vscode-languageserver-textdocument'
import { uriOfPath } from '../../server/workspace/node-files.ts'
import { bench } from '../features/bench.ts'
import { type ClientOptions, oldCapabilities, type TestClient } from '../harness/client.ts'
import { temporaryFolder } from '../harness/process.ts'
import { testClients } from './test-clients.ts'

const folder = 'memory://bench/'
const uri = `${folder}runs.detent`
const log = `${folder}logs/evening.csv`
const rows = 'elapsed,core clock,package,hot spot\n0,4712,182,64\n1,4711,182,64\n'
const text = `detent 1
use "bench.detent"

profile daily {
  part sample-b7
  cooler big-loop
  room garage
  steps { 1 to 12 cores 50x }
}
`

const started = testClients()

async function start(options: ClientOptions = {}): Promise<TestClient> {
  const files = { [`${folder}bench.detent`]: bench, [uri]: text, [log]: rows }
  return started({ folders: [folder], files, ...options })
}

interface ToldRun {
  readonly edit: { readonly documentChanges?: TextDocumentEdit[]; readonly changes?: Readonly<Record<string, unknown>> }
  readonly range: Range
  readonly told: string
  readonly trouble?: string
}

function applied(source: string, edit: ToldRun['edit']): TextDocument {
  const document = TextDocument.create(uri, 'detent', 1, source)
  const edits = edit.documentChanges?.flatMap(change => change.edits) ?? []
  return TextDocument.create(uri, 'detent', 2, TextDocument.applyEdits(document, edits as never))
}

const asked = { uri, log, profile: 'daily', load: 'render' }

describe('a run from a log', () => {
  it('is an edit of the text as it is typed, for its version, with the place of the new name', async () => {
    const { request, open, change } = await start()
    await open(uri, text)
    const typed = { range: { start: { line: 0, character: 8 }, end: { line: 0, character: 8 } }, text: '\n# bench' }
    await change(uri, 7, [typed])
    const { edit, range, told } = await request<ToldRun>('detent/runFromLog', asked)
    expect(edit.documentChanges?.map(one => one.textDocument)).toEqual([{ uri, version: 7 }])
    const document = applied(text.replace('1\n', '1\n# bench\n'), edit)
    expect(document.getText(range)).toBe('evening')
    expect(document.getText()).toContain('run evening of daily under render {\n  log "logs/evening.csv" {\n')
    expect(told).toContain('Run evening takes time, clock, power and die from its log.')
  })

  it('is of what the file sees, the profile at the cursor first', async () => {
    const { request, open } = await start()
    await open(uri, `${text}\nprofile night based-on daily {\n}\n`)
    const at = (line: number) => request('detent/runChoices', { uri, position: { line, character: 3 } })
    expect(await at(4)).toMatchObject({ profiles: ['daily', 'night'] })
    expect(await at(10)).toMatchObject({ profiles: ['night', 'daily'], loads: expect.arrayContaining(['render']) })
  })

  it('is no edit where something stands in its way, which is said', async () => {
    const { request } = await start()
    const trouble = async (more: object) => (await request<ToldRun>('detent/runFromLog', { ...asked, ...more })).trouble
    expect(await trouble({ log: `${folder}no.csv` })).toContain('There is no file no.csv')
    expect(await trouble({ profile: 'noon' })).toBe('There is no profile noon in runs.detent or the files it uses.')
    expect(await trouble({ uri: 'memory://other/a.detent' })).toBe('The file is not open here.')
    expect(await trouble({ load: 5 })).toBe('Name a file, a log, a profile and a load.')
  })

  it('is read from the disk where the file is there', async () => {
    using disk = temporaryFolder({ 'bench.detent': bench, 'runs.detent': text })
    writeFileSync(join(disk.path, 'a [1].csv'), rows)
    const own = uriOfPath(join(disk.path, 'runs.detent'))
    const { request } = await start({ folders: [uriOfPath(disk.path)] })
    const params = { ...asked, uri: own, log: uriOfPath(join(disk.path, 'a [1].csv')) }
    const { edit } = await request<ToldRun>('detent/runFromLog', params)
    expect(applied(text, edit).getText()).toContain('run a-1 of daily under render {\n  log "a [1].csv" {\n')
  })

  it('comes without versions for a client that takes none', async () => {
    const { request } = await start({ capabilities: oldCapabilities })
    const { edit } = await request<ToldRun>('detent/runFromLog', asked)
    expect(Object.keys(edit.changes ?? {})).toEqual([uri])
  })
})

describe('a log that the client reads', () => {
  const run = `${text}\nrun evening of daily under render {\n  log "logs/evening.csv" { column power "watts" W }\n}\n`
  const messages = async ({ diagnostics }: TestClient): Promise<string[]> =>
    (await diagnostics(uri)).filter(({ code }) => code === 'run-log').map(({ message }) => String(message))

  it('is read for the findings of its run', async () => {
    const started = await start()
    await started.open(uri, run)
    await expect
      .poll(() => messages(started), { timeout: 60_000 })
      .toEqual([expect.stringMatching(/^No column named here/)])
  })

  it('is said to be too large where it is', async () => {
    const files = { [`${folder}bench.detent`]: bench, [uri]: text, [log]: 'x'.repeat(32_000_001) }
    const started = await start({ files })
    await started.open(uri, run)
    await expect
      .poll(() => messages(started))
      .toEqual([expect.stringContaining('it has 33 MB, and no more than 32 MB can be read here')])
  })
})
