import { join } from 'node:path'
import { afterEach, describe, expect, it } from 'vitest'
import { uriOfPath } from '../../server/workspace/node-files.ts'
import { benchText } from '../cli/helpers.ts'
import { modernCapabilities, startClient, type TestClient } from '../harness/client.ts'
import { type TemporaryFolder, temporaryFolder } from '../harness/process.ts'
import { commitFiles, startRepository } from '../harness/repository.ts'

/** In an editor as on the command line, a run is held against what its profile set at the revision that it names. */

let client: TestClient | undefined
let folder: TemporaryFolder | undefined

afterEach(async () => {
  const problems = await client?.stop()
  client = undefined
  folder?.[Symbol.dispose]()
  folder = undefined
  expect(problems ?? []).toEqual([])
})

const run = (revision: string): string =>
  `\nrun old of daily under work {\n  revision "${revision}"\n  air 20 °C\n  humidity 40 %\n  measured { clock 4.600 GHz }\n}\n`

async function opened(revision: (then: string) => string) {
  folder = temporaryFolder({})
  startRepository(folder.path)
  const then = commitFiles(folder.path, { 'a.detent': benchText() })
  const text = benchText().replace('46x', '42x') + run(revision(then))
  commitFiles(folder.path, { 'a.detent': text })
  const own = await startClient({ folders: [uriOfPath(folder.path)], capabilities: modernCapabilities })
  client = own
  const uri = uriOfPath(join(folder.path, 'a.detent'))
  await own.open(uri, text)
  const position = { line: text.split('\n').findIndex(one => one.startsWith('run old')), character: 5 }
  const hover = async (): Promise<string> =>
    JSON.stringify(await own.request('textDocument/hover', { textDocument: { uri }, position }))
  return { then, hover, found: () => own.diagnostics(uri) }
}

describe('a run that names a revision', () => {
  it('has no finding where it went as its profile was set then', async () => {
    const { then, hover, found } = await opened(name => name)
    await expect.poll(hover).toContain(`predicted with what its profile set at revision ${then}`)
    expect(JSON.stringify(await found())).not.toMatch(/run-log|prediction-off/)
  })

  it('has its finding where the revision is not there, and is held against what is set now', async () => {
    const { found } = await opened(() => 'fffffff')
    const codes = async (): Promise<readonly string[]> => (await found()).map(({ code }) => String(code))
    await expect.poll(codes).toEqual(expect.arrayContaining(['run-log', 'prediction-off']))
  })
})
