import { pathToFileURL } from 'node:url'
import { describe, expect, it } from 'vitest'
import type { CodeLens, Range } from 'vscode-languageserver/node'
import { detent } from '../cli/helpers.ts'
import { bench, dailyText } from '../features/bench.ts'
import { type ClientOptions, eventually, type TestClient } from '../harness/client.ts'
import { temporaryFolder } from '../harness/process.ts'
import { testClients } from './test-clients.ts'

/** Expectations for editors that show them as tests, and profiles written out with all that they start from. */

const folder = 'memory://bench/'
const benchUri = `${folder}bench.detent`
const uri = `${folder}daily.detent`
const profile = `detent 1
use "bench.detent"

${dailyText(['expect pair holds >= 5.0 GHz', 'expect render die <= 30 °C', 'expect idle holds >= 1 GHz'])}
profile night based-on daily {
  expect pair holds >= 6.0 GHz
}
`

interface Told {
  readonly profile: string
  readonly text: string
  readonly range: Range
  readonly expected: string
  readonly figure?: string
  readonly predicted: number | null
  readonly holds: boolean | null
  readonly pending?: true
  readonly message?: string
}

type Answer = readonly { readonly uri: string; readonly expectations: readonly Told[] }[]

const started = testClients()
let told: string[][] = []

async function start(options: ClientOptions = {}): Promise<TestClient> {
  const client = await started({
    folders: [folder],
    files: { [benchUri]: bench, [uri]: profile },
    initializationOptions: { showsExpectations: true, showsResolved: true },
    ...options,
  })
  told = []
  client.connection.onNotification('detent/expectationsChanged', ({ uris }: { uris: string[] }) => {
    told.push(uris)
  })
  return client
}

const lineOf = (text: string, piece: string): number => text.slice(0, text.indexOf(piece)).split('\n').length - 1

describe('expectations', () => {
  it('come from every file of the folders, with their places', async () => {
    const { request } = await start()
    const files = await request<Answer>('detent/expectations', {})
    expect(files.map(file => [file.uri, file.expectations.length])).toEqual([
      [benchUri, 0],
      [uri, 6],
    ])
    const [own] = files[1]?.expectations ?? []
    expect(own?.range.start).toEqual({ line: lineOf(profile, 'expect pair'), character: 2 })
    expect(own?.expected).toBe('at least 5 GHz')
    // One that night has from daily stands at the word that brings it.
    const inherited = files[1]?.expectations.find(one => one.profile === 'night' && one.text.startsWith('render'))
    expect(inherited?.range.start).toEqual({ line: lineOf(profile, 'profile night'), character: 23 })
  })

  it('come to what the command says of them', async () => {
    using disk = temporaryFolder({ 'bench.detent': bench, 'daily.detent': profile })
    const checked = await detent(disk.path, ['check', '--output', 'json', '.'])
    const { expectations, findings } = JSON.parse(checked.out) as {
      expectations: { profile: string; text: string; predicted: number; holds: boolean | null }[]
      findings: { code: string; message: string; profile: string }[]
    }
    const address = pathToFileURL(disk.path).href
    const { request } = await start({ folders: [address] })
    const files = await request<Answer>('detent/expectations', { uris: [`${address}/daily.detent`] })
    const pick = (one: { profile: string; text: string; predicted: number | null; holds: boolean | null }): unknown =>
      [one.profile, one.text, one.predicted, one.holds].join(' | ')
    const shown = files[0]?.expectations ?? []
    expect(shown.map(pick).sort()).toEqual(expectations.map(pick).sort())
    expect(new Set(shown.map(one => one.holds))).toEqual(new Set([true, false, null]))
    for (const one of shown.filter(({ holds }) => holds === false)) {
      const messages = findings.filter(({ code }) => code === 'expect-failed').map(({ message }) => message)
      expect(messages).toContain(one.message)
    }
  })

  it('are reported as changed after a pause, also by an edit of what the profile uses', async () => {
    const { open, change, request } = await start()
    await open(benchUri, bench)
    await open(uri, profile)
    await eventually('a first word', () => (told.flat().includes(uri) ? true : undefined))
    const figure = async (): Promise<unknown> => {
      const [file] = await request<Answer>('detent/expectations', { uris: [uri] })
      return file?.expectations.find(one => one.text.startsWith('render die'))?.figure
    }
    const before = await figure()
    told.length = 0
    await change(benchUri, 2, [{ text: bench.replace('leakage 16 W', 'leakage 26 W') }])
    await eventually('another word', () => (told.flat().includes(uri) ? true : undefined))
    expect(await figure()).not.toBe(before)
  })

  it('wait for a run over time without being waited for', async () => {
    const { open, request } = await start()
    await open(uri, profile.replace('>= 5.0 GHz', '>= 5.9 GHz for 3 min'))
    const timed = async (): Promise<Told | undefined> => {
      const [file] = await request<Answer>('detent/expectations', { uris: [uri] })
      return file?.expectations.find(one => one.text.endsWith('for 3 min'))
    }
    await eventually('a first word', () => (told.flat().includes(uri) ? true : undefined))
    const first = await timed()
    if (first?.pending) {
      expect(first.holds).toBeNull()
      told.length = 0
      await eventually('word of the run', () => (told.flat().includes(uri) ? true : undefined))
    }
    const last = await timed()
    expect(last?.pending).toBeUndefined()
    expect(last?.holds).toBe(false)
    expect(last?.message).toContain('slowest second')
  })

  it('of a course that waits for a temperature come when it is followed, with what each comes to', async () => {
    const waits =
      'course session { pair until die >= 35 °C within 1 min; idle until die >= 90 °C within 5 s; render 5 s }'
    const lines = ['expect course session die <= 95 °C', 'expect course session holds >= 5.9 GHz']
    const more = 'expect course session trips after >= 1 h'
    const text = `detent 1\nuse "bench.detent"\n\n${dailyText([...lines, more])}\n${waits}\n`
    const { open, request } = await start()
    await open(uri, text)
    const asked = async (): Promise<readonly Told[]> => {
      const [file] = await request<Answer>('detent/expectations', { uris: [uri] })
      return file?.expectations ?? []
    }
    // Nobody waits for the course: it is followed in between, and word comes once it is.
    let found = await asked()
    expect(found.map(one => one.text)).toEqual([...lines, more].map(line => line.replace('expect ', '')))
    for (const { pending, holds, message } of found.filter(one => one.pending === true))
      expect([pending, holds, message]).toEqual([true, null, undefined])
    while (found.some(one => one.pending === true)) {
      await eventually('word of the course', () => (told.flat().includes(uri) ? true : undefined))
      told.length = 0
      found = await asked()
    }
    expect(found.map(one => one.holds)).toEqual([true, false, null])
    expect(found[0]?.figure).toMatch(/^[\d.]+ °C$/)
    expect(found[1]?.message).toMatch(
      /^Course goes too low: course `session` .* has clock [\d.]+ GHz after .* under `render`/,
    )
    expect(found[2]?.message).toContain('the course ends sooner than what is asked')
    expect(found.map(({ range }) => range.start.line)).toEqual(lines.concat(more).map(line => lineOf(text, line)))
  })

  it('of files outside the folders do not exist', async () => {
    const { request } = await start()
    expect(await request('detent/expectations', { uris: ['file:///etc/passwd'] })).toEqual([
      { uri: 'file:///etc/passwd', expectations: [] },
    ])
    expect(await request('detent/expectations', { uris: [null, 7] })).toHaveLength(2)
  })

  it('are nothing that other editors hear of', async () => {
    const { open, request } = await start({ initializationOptions: {} })
    await open(uri, profile)
    await new Promise(resolve => setTimeout(resolve, 300))
    expect(told).toEqual([])
    await expect(request('detent/expectations', {})).rejects.toMatchObject({ code: -32601 })
  })
})

describe('a profile with all that it starts from', () => {
  const address = (name: string): string =>
    `detent-resolved:/${name}.detent?${encodeURIComponent(`profile=${name}&file=${uri}`)}`
  const text = async ({ request }: TestClient, of: string): Promise<string> =>
    (await request<{ text: string }>('workspace/textDocumentContent', { uri: of })).text

  it('is a document of its own, which is read again when what it rests on changed', async () => {
    const one = await start()
    expect(one.initialized.capabilities.workspace?.textDocumentContent).toEqual({ schemes: ['detent-resolved'] })
    await one.open(uri, profile)
    await eventually('the opening to settle', () => (told.length > 0 ? true : undefined))
    expect(await text(one, address('night'))).toContain('part sample-b7')
    await one.change(uri, 2, [{ text: profile.replace('57x', '56x') }])
    await eventually('a word to read again', () => (one.reread.includes(address('night')) ? true : undefined))
    expect(await text(one, address('night'))).toContain('1 to 2 cores   56x')
  })

  it.each([
    [address('nobody'), 'no profile `nobody`'],
    ['detent-resolved:/night.detent?%E0%A4%A', 'names no profile'],
    ['detent-resolved:/night.detent', 'names no profile'],
    ['file:///etc/passwd', 'names no profile'],
    [`detent-resolved:/x?${encodeURIComponent('profile=x&file=file:///etc/passwd')}`, 'no profile `x`'],
  ])('says so where there is none: %s', async (of, words) => {
    expect(await text(await start(), of)).toContain(words)
  })

  it('is a click away above a profile that starts from another', async () => {
    const { open, request } = await start()
    await open(uri, profile)
    const lenses = await request<CodeLens[]>('textDocument/codeLens', { textDocument: { uri } })
    const ways = lenses.filter(lens => lens.command?.command === 'detent.showResolvedProfile')
    expect(ways.map(lens => [lens.range.start.line, lens.command?.arguments])).toEqual([
      [lineOf(profile, 'profile night'), [uri, 'night']],
    ])
  })

  it('has no lens where it is turned off, or where the editor has no such command', async () => {
    const off = await start({ settings: () => ({ codeLens: { resolvedProfile: false } }) })
    await off.open(uri, profile)
    const lenses = await off.request<CodeLens[]>('textDocument/codeLens', { textDocument: { uri } })
    expect(lenses.map(lens => lens.command?.command)).toEqual(['detent.showExpectations', 'detent.showExpectations'])
    const other = await start({ initializationOptions: {} })
    await other.open(uri, profile)
    const shown = await other.request<CodeLens[]>('textDocument/codeLens', { textDocument: { uri } })
    expect(shown.map(lens => lens.command?.command)).toEqual(['', ''])
  })
})
