import { describe, expect, it } from 'vitest'
import type { CodeAction } from 'vscode-languageserver/node'
import { bench, dailyText } from '../features/bench.ts'
import type { ClientOptions, TestClient } from '../harness/client.ts'
import { testClients } from './test-clients.ts'

const folder = 'memory://bench/'
const uri = `${folder}daily.detent`
const text = `detent 1
use "bench.detent"

${dailyText(['voltage { core needs + 30 mV }', 'limits { sustained-power 90 W }'], ['1 to 2 cores   55x', '3 to 12 cores  50x'])}`

const started = testClients()

async function start(options: ClientOptions = {}): Promise<TestClient> {
  const client = await started({
    folders: [folder],
    files: { [`${folder}bench.detent`]: bench.replace(/(switching [\d.]+ nF)/, '$1 ± 0.2 nF'), [uri]: text },
    ...options,
  })
  await client.open(uri, text)
  return client
}

async function actionOf({ request }: TestClient): Promise<CodeAction | undefined> {
  const line = text.split('\n').findIndex(one => one.startsWith('profile daily'))
  const range = { start: { line, character: 10 }, end: { line, character: 10 } }
  const actions = await request<CodeAction[]>('textDocument/codeAction', {
    textDocument: { uri },
    range,
    context: { diagnostics: [] },
  })
  return actions.find(({ title }) => title === 'Show what small changes of daily would do')
}

describe('what small changes would do', () => {
  it('is a paper of our own client, which an action on the name of the profile leads to', async () => {
    const client = await start({ initializationOptions: { showsPapers: true, looksUpRevisions: true } })
    expect((await actionOf(client))?.command).toMatchObject({
      command: 'detent.showSmallChanges',
      arguments: [uri, 'daily'],
    })
    const { markdown } = await client.request<{ markdown: string }>('detent/smallChanges', { uri, profile: 'daily' })
    expect(markdown).toMatch(/^# Small changes of daily\n/)
    expect(markdown).toMatch(/\| change +\| MHz/)
    expect(markdown.replaceAll('\u00a0', ' ')).toMatch(/\| air \+1 K/)
    expect(markdown).toContain('Worth measuring next')
  })

  it('is the plain text of a command for any client, and the gist of it a message', async () => {
    const client = await start()
    const command = (await actionOf(client))?.command
    expect(command?.command).toBe('detent.server.smallChanges')
    expect(client.initialized.capabilities.executeCommandProvider?.commands).toContain(command?.command)
    const found = await client.request<string>('workspace/executeCommand', {
      command: command?.command,
      arguments: command?.arguments,
    })
    expect(found).toMatch(/^# Small changes of daily\n/)
    expect(
      JSON.stringify(client.log.filter(({ message }) => JSON.stringify(message).includes('window/showMessage'))),
    ).toMatch(/Detent: daily: .*Worth measuring next/)
  })

  it.each([
    [{ uri, profile: 'noon' }, 'There is no profile noon in its file any more.'],
    [{ uri: 'memory://bench/gone.detent', profile: 'daily' }, 'There is no profile daily in its file any more.'],
    [{}, 'No profile is named.'],
    [null, 'No profile is named.'],
  ])('says in one line what %j lacks', async (params, trouble) => {
    const { request } = await start()
    expect(await request('detent/smallChanges', params)).toEqual({ trouble })
  })
})
