import { describe, expect, it } from 'vitest'
import {
  CancellationTokenSource,
  type CodeAction,
  CodeActionResolveRequest,
  type TextDocumentEdit,
} from 'vscode-languageserver/node'
import { TextDocument } from 'vscode-languageserver-textdocument'
import { benchWith, checkedText } from '../features/reach/bench.ts'
import {
  type ClientOptions,
  eventually,
  modernCapabilities,
  oldCapabilities,
  previews,
  type TestClient,
} from '../harness/client.ts'
import { testClients } from './test-clients.ts'

const folder = 'memory://bench/'
const uri = `${folder}tuned.detent`
const failing = 'sort holds >= 4.4 GHz'
const holding = 'sort die <= 80 °C'
const several = 'sort power <= 47 W'
const text = benchWith({ limits: 'die 92 °C; burst-power 52 W' }, failing, holding, several)

const started = testClients()

async function start(options: ClientOptions = {}): Promise<TestClient> {
  const client = await started({ folders: [folder], files: { [uri]: text }, ...options })
  await client.open(uri, text, 3)
  return client
}

function paramsAt(expectation: string, only?: readonly string[]) {
  const document = TextDocument.create('', '', 0, text)
  const start = document.positionAt(text.indexOf(`expect ${expectation}`) + 3)
  const context = { diagnostics: [], ...(only === undefined ? {} : { only: [...only] }) }
  return { textDocument: { uri }, range: { start, end: start }, context }
}

async function actionsOf(
  { request }: TestClient,
  expectation: string,
  only?: readonly string[],
): Promise<CodeAction[]> {
  return (await request<CodeAction[] | null>('textDocument/codeAction', paramsAt(expectation, only))) ?? []
}

const findTitle = (expectation: string): string => `Find the smallest change with which \`${expectation}\` holds`

async function findAction(client: TestClient, expectation: string): Promise<CodeAction> {
  const action = (await actionsOf(client, expectation)).find(({ title }) => title === findTitle(expectation))
  if (action === undefined) throw new Error('no such action')
  return action
}

const said = ({ log }: TestClient): string =>
  JSON.stringify(log.filter(({ message }) => JSON.stringify(message).includes('window/showMessage')))

describe('what an expectation would take', () => {
  it('is worked out once it is chosen, and is an edit that a person sees first', async () => {
    const client = await start(previews)
    const action = await findAction(client, failing)
    expect(action).toMatchObject({ kind: 'quickfix', diagnostics: [{ code: 'expect-failed', source: 'detent' }] })
    expect(action).not.toHaveProperty('edit')
    const { edit } = await client.request<CodeAction>('codeAction/resolve', action)
    const [change] = (edit?.documentChanges ?? []) as TextDocumentEdit[]
    expect(change?.textDocument).toEqual({ uri, version: 3 })
    expect(Object.values(edit?.changeAnnotations ?? {})).toMatchObject([{ needsConfirmation: true }])
    expect(change?.edits.every(one => 'annotationId' in one)).toBe(true)
    const document = TextDocument.create(uri, 'detent', 3, text)
    const then = TextDocument.applyEdits(document, (change?.edits ?? []) as never)
    expect(then).not.toBe(text)
    const { holding: holds } = await checkedText(then)
    expect([...holds].sort()).toEqual([`tuned: ${holding}`, `tuned: ${failing}`].sort())
    expect(said(client)).toMatch(
      /Does not hold: .*Any one of .* would do it.*limits burst-power 52 W → .*tuned\.detent:\d+/,
    )
  })

  it('stands among the actions of the line once it is found, each answer by itself', async () => {
    const client = await start(previews)
    await client.request('codeAction/resolve', await findAction(client, several))
    const actions = await actionsOf(client, several, ['quickfix'])
    const answers = actions.filter(({ title }) => title.includes(' then, asks '))
    expect(answers.length).toBeGreaterThan(1)
    expect(answers.every(({ edit }) => edit !== undefined)).toBe(true)
    expect(actions.some(({ title }) => title === findTitle(several))).toBe(false)
    // Another text may take something else.
    await client.change(uri, 4, [{ text: `${text}# a word\n` }])
    await findAction(client, several)
  })

  it('is nothing where it holds, and says so', async () => {
    const client = await start()
    const action = await findAction(client, holding)
    expect(action.kind).toBe('refactor.rewrite')
    const resolved = await client.request<CodeAction>('codeAction/resolve', action)
    expect(resolved).not.toHaveProperty('edit')
    expect(said(client)).toContain('Holds already: `sort die <= 80 °C`')
  })

  it('is the text of a command for a client that resolves nothing', async () => {
    const client = await start({
      capabilities: {
        ...oldCapabilities,
        textDocument: {
          ...oldCapabilities.textDocument,
          codeAction: { codeActionLiteralSupport: { codeActionKind: { valueSet: ['quickfix'] } } },
        },
      },
    })
    const action = await findAction(client, failing)
    expect(action.command).toMatchObject({ command: 'detent.server.reach', arguments: [uri, 'tuned', failing] })
    const found = await client.request<string>('workspace/executeCommand', {
      command: action.command?.command,
      arguments: action.command?.arguments,
    })
    expect(found).toMatch(/^Does not hold: `sort holds >= 4\.4 GHz`/)
    expect(found).toMatch(/^- limits burst-power 52 W → \d+ W: .*; tuned\.detent:\d+$/m)
    expect(found).toMatch(/^- load sort 4 cores → \d cores: /m)
  })

  it('is taken back, and is not for a text that changed meanwhile', async () => {
    const client = await start()
    const { connection } = client
    const action = await findAction(client, failing)
    const source = new CancellationTokenSource()
    const running = connection.sendRequest(CodeActionResolveRequest.type, action, source.token)
    source.cancel()
    await expect(running).rejects.toMatchObject({ code: -32800 })
    const again = connection.sendRequest(CodeActionResolveRequest.type, action)
    await client.change(uri, 4, [{ text: text.replace('burst-power 52 W', 'burst-power 51 W') }])
    await expect(again).rejects.toMatchObject({ code: -32801 })
  })

  it('shows progress once it takes long, and can be cancelled there', async () => {
    // Each change is followed for as long.
    const far = 'sort holds >= 4.6 GHz for 20 h'
    const own = benchWith(
      {
        limits: 'die 92 °C; burst-power 70 W; current 90 A; sustained-power 60 W over 30 s',
        voltage: 'core needs + 20 mV; set 40x 1.200 V; set 44x 1.220 V; set 46x 1.250 V',
        fan: 'fan { 20 °C 50 %; 60 °C 60 % }',
        bands: 'bands return 4 K {\n    1 to 4 cores   above 80 °C   -1x\n    1 to 4 cores   above 88 °C   -2x\n  }',
      },
      far,
    )
    const client = await started({
      folders: [folder],
      files: { [uri]: own },
      capabilities: { ...modernCapabilities, window: { workDoneProgress: true } },
    })
    await client.open(uri, own, 3)
    const start = TextDocument.create('', '', 0, own).positionAt(own.indexOf(`expect ${far}`) + 3)
    const params = { textDocument: { uri }, range: { start, end: start }, context: { diagnostics: [] } }
    const actions = await client.request<CodeAction[]>('textDocument/codeAction', params)
    const action = actions.find(({ title }) => title === findTitle(far))
    if (action === undefined) throw new Error('no such action')
    const running = client.connection.sendRequest(CodeActionResolveRequest.type, action)
    const begun = await eventually('the beginning', () => {
      const all = client.log.map(({ message }) => message as { params?: { token?: string; value?: { kind?: string } } })
      return all.find(one => one.params?.value?.kind === 'begin')?.params
    })
    expect(begun.value).toMatchObject({ title: `Finding what \`${far}\` would take`, cancellable: true })
    await client.notify('window/workDoneProgress/cancel', { token: begun.token })
    await expect(running).rejects.toMatchObject({ code: -32800 })
  })
})
