import { expect, it } from 'vitest'
import { CancellationTokenSource, LSPErrorCodes, type WorkspaceDiagnosticReport } from 'vscode-languageserver/node'
import { bench } from '../features/bench.ts'
import { eventually, oldCapabilities } from '../harness/client.ts'
import { testClients } from './test-clients.ts'

/** Two hundred files that change behind the editor's back, as when git checks another branch out. */

const folder = 'memory://bench/'
const uriOf = (name: string): string => `${folder}${name}.detent`
const daily = (index: number, ratio: string): string =>
  `detent 1\nuse "bench.detent"\n\nprofile daily-${index} {\n  part sample-b7\n  cooler big-loop\n  room garage\n  steps {\n    1 to 2 cores   57x\n    ${ratio}\n  }\n}\n`

const started = testClients()

function branch(ratio: string, count: number): Record<string, string> {
  const files: Record<string, string> = { [uriOf('bench')]: bench }
  for (let index = 0; index < count; index++) files[uriOf(`file-${index}`)] = daily(index, ratio)
  return files
}

it('are all read again, the deleted ones are gone, and the open one keeps its unsaved text', async () => {
  const files = branch('3 to 12 cores  50x', 200)
  const client = await started({ files, folders: [folder] })
  const { open, request, notify } = client
  const edited = uriOf('file-7')
  await open(edited, daily(7, '3 to 12 cores  49x'))
  const pull = async (): Promise<Map<string, readonly unknown[]>> => {
    const { items } = await request<WorkspaceDiagnosticReport>('workspace/diagnostic', { previousResultIds: [] })
    return new Map(items.map(one => [one.uri, one.kind === 'full' ? one.items.map(({ code }) => code) : []]))
  }
  const before = await pull()
  expect(before.size).toBe(201)
  expect([...before.values()].flat()).toEqual([])

  // The other branch leaves a gap in every file, has no file 3, and one that was not there before.
  Object.assign(files, branch('4 to 12 cores  50x', 201))
  delete files[uriOf('file-3')]
  const changes = [...Object.keys(files), uriOf('file-3')].map(uri => ({
    uri,
    type: uri === uriOf('file-3') ? 3 : uri === uriOf('file-200') ? 1 : 2,
  }))
  await notify('workspace/didChangeWatchedFiles', { changes })
  // Requests may come before all is read; what is there in the end is what counts.
  let after = await pull()
  for (const end = Date.now() + 20_000; Date.now() < end && !after.get(uriOf('file-200'))?.length; )
    after = await pull()
  const gaps = [...after].filter(([, codes]) => codes.includes('steps-gap')).map(([uri]) => uri)
  expect(gaps).toHaveLength(199)
  expect(gaps).not.toContain(edited)
  expect(after.has(uriOf('file-3'))).toBe(false)
}, 180_000)

it('tell a client that cannot ask, once for each open file', async () => {
  const files = branch('3 to 12 cores  50x', 200)
  const client = await started({ files, folders: [folder], capabilities: oldCapabilities })
  const { open, notify, published, log } = client
  const user = uriOf('user')
  await open(user, daily(0, '3 to 12 cores  50x'))
  await eventually('findings', () => (published.has(user) ? true : undefined))
  log.length = 0
  files[uriOf('bench')] = bench.replace('room garage', 'room cellar')
  await notify('workspace/didChangeWatchedFiles', { changes: Object.keys(files).map(uri => ({ uri, type: 2 })) })
  await eventually('the unknown room', () =>
    published.get(user)?.diagnostics.some(({ code }) => code === 'unknown-name') ? true : undefined,
  )
  await new Promise(resolve => setTimeout(resolve, 300))
  const sent = log.filter(
    ({ message }) => (message as { method?: string }).method === 'textDocument/publishDiagnostics',
  )
  expect(sent).toHaveLength(1)
}, 180_000)

it('a folder that goes as one takes its files with it, and what rests on them follows', async () => {
  const inside = (name: string): string => `${folder}old/${name}.detent`
  const files: Record<string, string> = {
    [inside('bench')]: bench,
    [inside('gap')]: daily(1, '4 to 12 cores  50x'),
    [`${folder}older.detent`]: daily(2, '4 to 12 cores  50x').replace('bench.detent', 'old/bench.detent'),
  }
  const client = await started({ files, folders: [folder] })
  const { request, notify } = client
  const codes = async (): Promise<Record<string, readonly unknown[]>> => {
    const { items } = await request<WorkspaceDiagnosticReport>('workspace/diagnostic', { previousResultIds: [] })
    return Object.fromEntries(items.map(one => [one.uri, one.kind === 'full' ? one.items.map(({ code }) => code) : []]))
  }
  const before = await codes()
  expect(before[inside('gap')]).toEqual(['steps-gap'])
  expect(before[`${folder}older.detent`]).toEqual(['steps-gap'])

  for (const uri of Object.keys(files)) if (uri.startsWith(`${folder}old/`)) delete files[uri]
  await notify('workspace/didChangeWatchedFiles', { changes: [{ uri: `${folder}old`, type: 3 }] })
  await expect.poll(async () => Object.keys(await codes()).sort()).toEqual([`${folder}older.detent`])
  expect((await codes())[`${folder}older.detent`]).toContain('use-missing')
}, 180_000)

it('a folder that goes and comes with other files has those that came', async () => {
  const [inside, left] = [`${folder}deep/gap.detent`, `${folder}deep/left.detent`]
  const text = (rows: string): string => daily(1, rows).replace('bench.detent', '../bench.detent')
  const files: Record<string, string> = {
    [uriOf('bench')]: bench,
    [inside]: text('4 to 12 cores  50x'),
    [left]: text('4 to 12 cores  50x'),
  }
  const { request, notify } = await started({ files, folders: [folder] })
  const found = async (): Promise<Record<string, number>> => {
    const { items } = await request<WorkspaceDiagnosticReport>('workspace/diagnostic', { previousResultIds: [] })
    return Object.fromEntries(items.map(one => [one.uri, one.kind === 'full' ? one.items.length : -1]))
  }
  expect(await found()).toEqual({ [uriOf('bench')]: 0, [inside]: 1, [left]: 1 })
  files[inside] = text('3 to 12 cores  50x')
  delete files[left]
  const changes = [
    { uri: `${folder}deep`, type: 3 },
    { uri: inside, type: 1 },
  ]
  await notify('workspace/didChangeWatchedFiles', { changes })
  await expect.poll(found).toEqual({ [uriOf('bench')]: 0, [inside]: 0 })
}, 180_000)

it('a file that goes once it is closed is reported as empty, though the client does not name it', async () => {
  const gone = `${folder}gone/gap.detent`
  const files: Record<string, string> = { [uriOf('bench')]: bench }
  let takeBack: (() => void) | undefined
  // The settings of a closed file are asked for as it is reported: the files that are gone come behind it.
  const settings = (): unknown => {
    takeBack?.()
    return null
  }
  const client = await started({ files, folders: [folder], settings })
  const { open, close, request, notify, connection } = client
  // Made and opened at once: no answer about the folder has named it.
  const text = daily(1, '4 to 12 cores  50x').replace('bench.detent', '../bench.detent')
  files[gone] = text
  await open(gone, text)
  const asked = { textDocument: { uri: gone } }
  const { items } = await request<{ items: readonly { code: string }[] }>('textDocument/diagnostic', asked)
  expect(items.map(({ code }) => code)).toEqual(['steps-gap'])
  await close(gone)
  delete files[gone]
  await notify('workspace/didChangeWatchedFiles', { changes: [{ uri: `${folder}gone`, type: 3 }] })
  const pull = async (): Promise<readonly unknown[]> => {
    const all = await request<WorkspaceDiagnosticReport>('workspace/diagnostic', { previousResultIds: [] })
    return all.items.filter(({ uri }) => uri === gone)
  }
  const source = new CancellationTokenSource()
  takeBack = () => source.cancel()
  const overtaken = connection.sendRequest('workspace/diagnostic', { previousResultIds: [] }, source.token)
  await expect(overtaken).rejects.toMatchObject({ code: LSPErrorCodes.RequestCancelled })
  takeBack = undefined
  expect(await pull()).toEqual([{ kind: 'full', items: [], uri: gone, version: null }])
  // Once is enough.
  expect(await pull()).toEqual([])
})

it('a cancelled check of the folders reports nothing about the file that it was checking', async () => {
  const files = branch('4 to 12 cores  50x', 3)
  let release: () => void = () => undefined
  const held = new Promise<void>(resolve => {
    release = resolve
  })
  let isAsked = false
  const client = await started({
    files,
    folders: [folder],
    // A check of the first file waits for them.
    settings: async () => {
      isAsked = true
      await held
      return null
    },
  })
  const source = new CancellationTokenSource()
  const params = { previousResultIds: [], partialResultToken: 'parts' }
  const asked = client.connection.sendRequest('workspace/diagnostic', params, source.token).catch(() => undefined)
  await eventually('the question for settings', () => (isAsked ? true : undefined))
  source.cancel()
  release()
  await asked
  await client.request('workspace/symbol', { query: 'nothing' })
  const partsOf = (token: string): readonly unknown[] =>
    client.log.flatMap(({ message }) => {
      const { method, params: sent } = message as { method?: string; params?: { token: string; value: unknown } }
      return method === '$/progress' && sent?.token === token ? [sent.value] : []
    })
  expect(partsOf('parts')).toEqual([])
  await client.request('workspace/diagnostic', { previousResultIds: [], partialResultToken: 'whole' })
  expect(partsOf('whole')).not.toEqual([])
})
