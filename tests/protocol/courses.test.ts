import { describe, expect, it } from 'vitest'
import { CancellationTokenSource, type CodeAction, type CodeLens, LSPErrorCodes } from 'vscode-languageserver/node'
import { bench, dailyText } from '../features/bench.ts'
import type { ClientOptions, TestClient } from '../harness/client.ts'
import { testClients } from './test-clients.ts'

/** The ways from a course to what it comes to, and what keeps it from being followed. */

const folder = 'memory://bench/'
const uri = `${folder}daily.detent`
const text = `detent 1
use "bench.detent"

${dailyText()}
course session {
  start room
  pair until die >= 35 °C within 1 min
  render 20 s
  idle 10 s
}

course stuck {
  idle until die >= 90 °C within 5 s
  pair 5 s
}

course night { render 24 h }

course days {
  render 20 h
  idle 5 h
}

course empty { }
`

const started = testClients()

async function start(options: ClientOptions = {}): Promise<TestClient> {
  const client = await started({
    folders: [folder],
    files: { [`${folder}bench.detent`]: bench, [uri]: text },
    ...options,
  })
  await client.open(uri, text)
  return client
}

const ours = { initializationOptions: { showsPictures: true, showsPapers: true, looksUpRevisions: true } }
const lineOf = (mark: string): number => text.split('\n').findIndex(one => one.includes(mark))
const placeOf = (name: string) => ({ line: lineOf(`course ${name} {`), character: 'course '.length })

async function lensesOf({ request }: TestClient, title: string): Promise<readonly CodeLens[]> {
  const lenses = await request<CodeLens[]>('textDocument/codeLens', { textDocument: { uri } })
  return lenses.filter(({ command }) => command?.title === title)
}

async function actionsAt({ request }: TestClient, name: string): Promise<readonly CodeAction[]> {
  const start = placeOf(name)
  const actions = await request<CodeAction[]>('textDocument/codeAction', {
    textDocument: { uri },
    range: { start, end: start },
    context: { diagnostics: [] },
  })
  return actions.filter(({ command }) => /detent\.(?:showBeside|server\.course)/.test(command?.command ?? ''))
}

const follow = ({ request }: TestClient, ...given: readonly string[]): Promise<string> =>
  request<string>('workspace/executeCommand', { command: 'detent.server.course', arguments: [uri, ...given] })

const followed = ['session', 'stuck', 'night', 'days']

describe('the way from a course to what it comes to', () => {
  it('is a line above it and an action on its name that open the charts of our own client', async () => {
    const client = await start(ours)
    const places = followed.map(name => ({ command: 'detent.showBeside', arguments: [uri, placeOf(name)] }))
    expect((await lensesOf(client, 'Charts')).map(({ command }) => command)).toMatchObject(places)
    const [action, ...more] = await actionsAt(client, 'session')
    expect(more).toEqual([])
    expect(action).toMatchObject({ title: 'Show the charts of course session', command: places[0] })
    expect(await actionsAt(client, 'empty')).toEqual([])
    // What they lead to is there.
    const view = await client.request('detent/view', { textDocument: { uri }, position: placeOf('session') })
    expect(view).toMatchObject({ kind: 'course', title: 'daily: course session' })
  })

  it('is a line and an action with a text for any other client, and the gist of it a message', async () => {
    const client = await start()
    expect((await lensesOf(client, 'Follow')).map(({ command }) => command?.arguments?.[1])).toEqual(followed)
    const [action] = await actionsAt(client, 'session')
    expect(action).toMatchObject({ title: 'Follow course session', command: { arguments: [uri, 'session'] } })
    expect(client.initialized.capabilities.executeCommandProvider?.commands).toContain(action?.command?.command)
    const found = await follow(client, 'session')
    expect(found).toMatch(/^# Course session\n\nOn profile \*\*daily\*\*:\n|^# Course session\n\nOn profile `daily`:\n/)
    expect(found).toContain('The machine does not stop.')
    expect(found).toMatch(/\| Step +\| Lasts +\| Lowest clock/)
    const said = JSON.stringify(client.log.filter(({ message }) => JSON.stringify(message).includes('showMessage')))
    expect(said).toMatch(/Detent: course session on daily: ends after \d.*, die up to [\d.]+ °C/)
  })

  it('says what is not reached, and changes nothing', async () => {
    const client = await start()
    expect((await follow(client, 'stuck')).replaceAll('\\', '')).toContain(
      'idle until die >= 90 °C: not reached within 5 s',
    )
    expect(client.log.some(({ message }) => JSON.stringify(message).includes('workspace/applyEdit'))).toBe(false)
  })

  it.each([
    ['days', 'Course days is not followed on daily: course `days` may last 25 h, and 24 h is the most.'],
    ['empty', 'Course empty is not followed on daily: course `empty` has no step.'],
    ['noon', 'There is no course noon in its file any more.'],
  ])('says of %s in one line why it is not followed', async (name, message) => {
    const client = await start()
    await expect(follow(client, name)).rejects.toThrow(message)
  })

  it('follows a day while hovers and typing go on, until it is taken back', async () => {
    const client = await start()
    const source = new CancellationTokenSource()
    const asked = client.connection.sendRequest(
      'workspace/executeCommand',
      { command: 'detent.server.course', arguments: [uri, 'night'] },
      source.token,
    )
    let isDone = false
    const ended = asked.then(
      () => {
        isDone = true
      },
      (error: unknown) => {
        isDone = true
        return error
      },
    )
    const hover = { textDocument: { uri }, position: { line: lineOf('steps {'), character: 4 } }
    expect(await client.request('textDocument/hover', hover)).not.toBeNull()
    await client.change(uri, 2, [{ text: `${text}\n# more\n` }])
    expect(await client.request('textDocument/hover', hover)).not.toBeNull()
    expect(isDone).toBe(false)
    source.cancel()
    expect(await ended).toMatchObject({ code: LSPErrorCodes.RequestCancelled })
  })
})
