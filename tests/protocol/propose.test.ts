import { describe, expect, it } from 'vitest'
import {
  CancellationTokenSource,
  type CodeAction,
  CodeActionResolveRequest,
  type TextDocumentEdit,
} from 'vscode-languageserver/node'
import { TextDocument } from 'vscode-languageserver-textdocument'
import { benchText } from '../cli/helpers.ts'
import { type ClientOptions, oldCapabilities, previews, type TestClient } from '../harness/client.ts'
import { testClients } from './test-clients.ts'

const folder = 'memory://bench/'
const uri = `${folder}planned.detent`
const text = benchText('  voltage { core needs + 30 mV }\n  limits { sustained-power 52 W; die 70 °C }\n')

const started = testClients()

async function start(options: ClientOptions = {}, content = text): Promise<TestClient> {
  const client = await started({ folders: [folder], files: { [uri]: content }, ...options })
  await client.open(uri, content, 3)
  return client
}

async function proposeAction({ request }: TestClient, content = text, at = 'daily'): Promise<CodeAction> {
  const start = TextDocument.create('', '', 0, content).positionAt(content.indexOf(at, content.indexOf('profile')))
  const params = { textDocument: { uri }, range: { start, end: start }, context: { diagnostics: [] } }
  const actions = (await request<CodeAction[] | null>('textDocument/codeAction', params)) ?? []
  const found = actions.find(({ title }) => title === 'Propose steps and bands for daily')
  if (found === undefined) throw new Error('no such action')
  return found
}

const said = ({ log }: TestClient): string =>
  JSON.stringify(log.filter(({ message }) => JSON.stringify(message).includes('window/showMessage')))

describe('steps and bands', () => {
  it('are worked out once the action is chosen, and are an edit that a person sees first', async () => {
    const client = await start(previews)
    const action = await proposeAction(client)
    expect(action).toMatchObject({ kind: 'refactor.rewrite' })
    expect(action).not.toHaveProperty('edit')
    const { edit } = await client.request<CodeAction>('codeAction/resolve', action)
    const [change] = (edit?.documentChanges ?? []) as TextDocumentEdit[]
    expect(change?.textDocument).toEqual({ uri, version: 3 })
    expect(Object.values(edit?.changeAnnotations ?? {})).toMatchObject([{ needsConfirmation: true }])
    expect(change?.edits.every(one => 'annotationId' in one)).toBe(true)
    const then = TextDocument.applyEdits(TextDocument.create(uri, 'detent', 3, text), (change?.edits ?? []) as never)
    expect(then).not.toBe(text)
    expect(said(client)).toMatch(/at \d( to \d)? cores?: \d+x would/)
    // With it in the file there is nothing left to propose.
    await client.change(uri, 4, [{ text: then }])
    const again = await client.request<CodeAction>('codeAction/resolve', await proposeAction(client, then))
    expect(again).not.toHaveProperty('edit')
    expect(said(client)).toContain('daily has the steps and bands that are proposed.')
  })

  it('are offered on the table as well', async () => {
    const client = await start()
    expect(await proposeAction(client, text, '46x')).toMatchObject({ kind: 'refactor.rewrite' })
  })

  it('are not proposed where the profile cannot be predicted, which is said', async () => {
    const content = text.replace('  room den\n', '')
    const client = await start({}, content)
    const resolved = await client.request<CodeAction>('codeAction/resolve', await proposeAction(client, content))
    expect(resolved).not.toHaveProperty('edit')
    expect(said(client)).toContain('Nothing can be proposed for daily, because the profile has no `room`')
  })

  it('are the text of a command for a client that resolves nothing', async () => {
    const client = await start({
      capabilities: {
        ...oldCapabilities,
        textDocument: {
          ...oldCapabilities.textDocument,
          codeAction: { codeActionLiteralSupport: { codeActionKind: { valueSet: ['refactor'] } } },
        },
      },
    })
    const { command } = await proposeAction(client)
    expect(command).toMatchObject({ command: 'detent.server.propose', arguments: [uri, 'daily'] })
    const found = await client.request<string>('workspace/executeCommand', {
      command: command?.command,
      arguments: command?.arguments,
    })
    expect(found).toMatch(/^\d+x at 1/)
  })

  it('are taken back, and are not for a text that changed since', async () => {
    const client = await start()
    const { connection } = client
    const action = await proposeAction(client)
    const source = new CancellationTokenSource()
    const running = connection.sendRequest(CodeActionResolveRequest.type, action, source.token)
    source.cancel()
    await expect(running).rejects.toMatchObject({ code: -32800 })
    await client.change(uri, 4, [{ text: text.replace('52 W', '50 W') }])
    const again = connection.sendRequest(CodeActionResolveRequest.type, action)
    await expect(again).rejects.toMatchObject({ code: -32801 })
  })
})
