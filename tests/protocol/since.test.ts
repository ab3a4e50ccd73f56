import { writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import type { CodeLens } from 'vscode-languageserver/node'
import { revisionAround } from '../../server/workspace/git.ts'
import { uriOfPath } from '../../server/workspace/node-files.ts'
import { benchText } from '../cli/helpers.ts'
import { type TemporaryFolder, temporaryFolder } from '../harness/process.ts'
import { commitFiles, startRepository } from '../harness/repository.ts'
import { testClients } from './test-clients.ts'

const started = testClients()

async function opened(folder: TemporaryFolder, options: Readonly<Record<string, unknown>>) {
  startRepository(folder.path)
  const then = commitFiles(folder.path, { 'a.detent': benchText() })
  const text = benchText().replace('46x', '45x')
  writeFileSync(join(folder.path, 'a.detent'), text)
  let asked = 0
  const client = await started({
    folders: [uriOfPath(folder.path)],
    initializationOptions: options,
    revisionOf: (file, revision) => {
      asked++
      return revisionAround(file, revision)
    },
  })
  const uri = uriOfPath(join(folder.path, 'a.detent'))
  await client.open(uri, text)
  const lens = async (): Promise<CodeLens['command']> =>
    (await client.request<CodeLens[]>('textDocument/codeLens', { textDocument: { uri } })).find(({ command }) =>
      /since last commit/i.test(command?.title ?? ''),
    )?.command
  return { client, uri, text, then, lens, asked: () => asked }
}

const ours = { showsPapers: true, looksUpRevisions: true, isTrusted: true }

describe('what has changed since the last commit', () => {
  it('is looked up by a click, and never by opening or typing', async () => {
    using folder = temporaryFolder({})
    const { client, uri, text, then, lens, asked } = await opened(folder, ours)
    expect(await lens()).toEqual({
      title: 'Since last commit …',
      command: 'detent.lookUpSince',
      arguments: [uri, 'daily'],
    })
    await client.change(uri, 2, [{ text: `${text}# typed\n` }])
    await client.diagnostics(uri)
    expect((await lens())?.title).toBe('Since last commit …')
    expect(asked()).toBe(0)
    expect(await client.request('detent/lookUpSince', { uri })).toEqual({
      profiles: [{ profile: 'daily', text: expect.stringMatching(/^1 setting, work -0\.10 GHz/) }],
    })
    expect(await lens()).toMatchObject({
      title: expect.stringMatching(/^since last commit: 1 setting, work -0\.10 GHz/),
      command: 'detent.compareSince',
    })
    expect(asked()).toBe(1)
    const paper = await client.request<{ markdown: string }>('detent/since', { uri, profile: 'daily' })
    expect(paper.markdown).toMatch(
      new RegExp(`^# Since last commit \\(${then.slice(0, 8)}\\): 1 of 1 profile differs\\n`),
    )
    expect(await client.request('detent/commits', { uri })).toEqual({
      commits: [{ name: then, subject: 'values', time_s: expect.any(Number), refs: expect.stringContaining('main') }],
      isMore: false,
    })
  })

  it.each(['nowhere', '-x'])('says in one line that there is no revision %s', async revision => {
    using folder = temporaryFolder({})
    const { client, uri } = await opened(folder, ours)
    expect(await client.request('detent/since', { uri, revision })).toEqual({
      trouble: `There is no revision ${revision} in this git repository.`,
    })
  })

  it('is not looked up where the workspace is not trusted', async () => {
    using folder = temporaryFolder({})
    const { client, uri, lens, asked } = await opened(folder, { ...ours, isTrusted: false })
    expect(await lens()).toBeUndefined()
    const refused = { trouble: 'This workspace is not trusted: git is not started in it.' }
    for (const method of ['detent/lookUpSince', 'detent/since', 'detent/commits'])
      expect(await client.request(method, { uri })).toEqual(refused)
    expect(asked()).toBe(0)
  })

  it('is there for any client by its lens, as the text of a command', async () => {
    using folder = temporaryFolder({})
    const { client, lens } = await opened(folder, {})
    const command = await lens()
    expect(command?.command).toBe('detent.server.since')
    const found = await client.request<string>('workspace/executeCommand', {
      command: command?.command,
      arguments: command?.arguments,
    })
    expect(found).toMatch(/^# Since last commit \([0-9a-f]{8}\): 1 of 1 profile differs\n/)
    expect((await lens())?.title).toMatch(/^since last commit: 1 setting/)
  })
})
