import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { afterEach, describe, expect, it } from 'vitest'
import type { CodeLens, TextEdit } from 'vscode-languageserver/node'
import { TextDocument } from 'vscode-languageserver-textdocument'
import { uriOfPath } from '../../server/workspace/node-files.ts'
import { detent } from '../cli/helpers.ts'
import { bench } from '../features/bench.ts'
import { startClient, type TestClient } from '../harness/client.ts'
import { root } from '../harness/sources.ts'

interface View {
  readonly kind?: string
  readonly profile?: string
  readonly title?: string
  readonly svg?: string
  readonly isFirst?: boolean
  readonly style?: string
  readonly text?: string
  readonly loads?: readonly string[]
  readonly marks?: readonly { sentence: string; target?: { uri: string; range: { start: { line: number } } } }[]
  readonly waits?: string | null
  readonly edit?: { readonly documentChanges?: readonly { readonly edits: TextEdit[] }[] }
  readonly trouble?: string
}

const uri = 'memory://bench/bench.detent'
const profile = `
profile day {
  part sample-b7
  cooler te-plate
  room garage
  steps { 1 to 12 cores 50x }
  limits { die 90 °C }
  drive dew + 2 K
}
`

let client: TestClient | undefined

async function start(): Promise<{ ask(line: string, more?: object): Promise<View>; text: string; client: TestClient }> {
  const text = `${bench}${profile}`
  client = await startClient({ folders: ['memory://bench/'], files: { [uri]: text } })
  const { request, connection } = client
  await connection.sendNotification('textDocument/didOpen', {
    textDocument: { uri, languageId: 'detent', version: 1, text },
  })
  return {
    text,
    client,
    ask: (part, more) => {
      const line = text.split('\n').findIndex(one => one.includes(part))
      expect(line, part).toBeGreaterThanOrEqual(0)
      return request<View>('detent/view', { textDocument: { uri }, position: { line, character: 4 }, ...more })
    },
  }
}

afterEach(async () => {
  const problems = await client?.stop()
  client = undefined
  expect(problems ?? []).toEqual([])
})

describe('the picture of a place', () => {
  it('is the map in a profile, the cooling chart where it is cooled, driven or limited', async () => {
    const { ask } = await start()
    expect(await ask('steps {')).toMatchObject({ kind: 'map', profile: 'day' })
    expect(await ask('profile day')).toMatchObject({ kind: 'map' })
    for (const line of ['drive dew', 'limits {', 'cooler te-plate', 'cooler te-plate kind', 'block-resistance 0.03']) {
      expect(await ask(line), line).toMatchObject({ kind: 'cooling', profile: 'day' })
    }
    expect(await ask('load pair')).toMatchObject({ kind: 'map', load: 'pair' })
    expect(await ask('part sample-b7 {')).toMatchObject({ kind: 'map' })
    expect(await ask('needs {')).toMatchObject({ kind: 'ledger', profile: 'day' })
    expect(await ask('detent 1')).toEqual({ waits: null })
  })

  it('leads from its marks to the lines that decide them, and marks the line of the cursor', async () => {
    const { ask, text } = await start()
    const { marks = [], svg } = await ask('steps {')
    const lines = text.split('\n')
    const cell = marks.find(({ sentence }) => sentence.startsWith('1 to 12 cores below'))
    expect(cell?.target?.uri).toBe(uri)
    expect(lines[cell?.target?.range.start.line ?? 0]).toContain('1 to 12 cores 50x')
    expect(svg).toContain('class="mark here"')
    const limit = marks.find(({ sentence }) => sentence.startsWith('Die limit'))
    expect(lines[limit?.target?.range.start.line ?? 0]).toContain('die 90 °C')
  })

  it('has the edges of another profile with the same part beside its own, where one is asked for', async () => {
    const { ask, text, client: editor } = await start()
    const other = text
      .slice(text.indexOf('profile day'))
      .replace('profile day', 'profile night')
      .replace('90 °C', '80 °C')
    await editor.connection.sendNotification('textDocument/didChange', {
      textDocument: { uri, version: 2 },
      contentChanges: [{ text: `${text}\n${other}` }],
    })
    expect(await ask('steps {')).toMatchObject({ kind: 'map', others: ['night'] })
    expect((await ask('steps {')).svg).not.toContain('class="thin"')
    const { svg } = await ask('steps {', { against: 'night' })
    expect(svg).toContain('class="thin"')
    expect(svg).toContain('dashed: night')
    expect((await ask('steps {', { against: 'nobody' })).svg).not.toContain('class="thin"')
    expect(await ask('drive dew')).toMatchObject({ kind: 'cooling', others: [] })
  })

  it('has the sliders as lines of room and profile: written, the file says what the picture showed', async () => {
    const { ask, text, client: editor } = await start()
    const whatIf = { airC: 31, humidityPct: 62, fanPct: 45 }
    const shown = (await ask('profile day', { as: 'csv', whatIf })).text
    expect(shown).not.toBe((await ask('profile day', { as: 'csv' })).text)
    const { edit } = await ask('profile day', { as: 'edit', whatIf })
    const edits = (edit?.documentChanges ?? []).flatMap(change => change.edits)
    const written = TextDocument.applyEdits(TextDocument.create(uri, 'detent', 1, text), edits)
    expect(written).toContain('air 31 °C')
    expect(written).toContain('humidity 62 %')
    expect(written).toMatch(/fan \{ 0 °C +45 % \}/)
    await editor.connection.sendNotification('textDocument/didChange', {
      textDocument: { uri, version: 2 },
      contentChanges: [{ text: written }],
    })
    const rows = (csv: string | undefined): readonly string[] => (csv ?? '').split('\r\n').sort()
    expect(rows((await ask('profile day', { as: 'csv' })).text)).toEqual(rows(shown))
    // A second time the lines are there, and are changed.
    const again = await ask('profile day', { as: 'edit', whatIf: { ...whatIf, fanPct: 70 } })
    const more = (again.edit?.documentChanges ?? []).flatMap(change => change.edits)
    const twice = TextDocument.applyEdits(TextDocument.create(uri, 'detent', 2, written), more)
    expect(twice.match(/\bfan \{/g)).toHaveLength(1)
    expect(twice).toMatch(/fan \{ 0 °C +70 % \}/)
    expect((await ask('profile day', { as: 'edit' })).waits).toMatch(/^Nothing is written/)
  })

  it('waits with a reason while a line does not read, and takes what is asked for', async () => {
    const { ask, text, client: editor } = await start()
    expect(await ask('steps {', { load: 'render' })).toMatchObject({ load: 'render' })
    expect((await ask('steps {', { whatIf: { airC: 35 } })).title).toContain('what if')
    expect((await ask('steps {', { as: 'csv' })).text).toMatch(/^load,cores,air_c/)
    expect((await ask('steps {', { as: 'svg' })).text).toMatch(/^<svg /)
    await editor.connection.sendNotification('textDocument/didChange', {
      textDocument: { uri, version: 2 },
      contentChanges: [{ text: text.replace('50x }', '50 }') }],
    })
    expect((await ask('profile day')).waits).toMatch(/does not read|Not predicted/)
  })

  it.each([null, {}, { textDocument: null }, { textDocument: { uri: 7 }, position: 1 }])('answers %j', async params => {
    const { client: editor } = await start()
    const answer = await editor.request<View>('detent/view', params)
    expect(answer.trouble).toBe('No place is named.')
  })

  it('takes sizes and conditions within bounds, and anything else for not given', async () => {
    const { ask } = await start()
    const { svg } = await ask('steps {', { width: 1e9, height: -5, load: 7, whatIf: 'x', kind: {} })
    expect(svg).toMatch(/viewBox="0 0 4000 240"/)
  })

  it('comes first without what takes long, where that is welcome, and whole when it is asked for again', async () => {
    const folder = join(root, 'grammar/examples/bench')
    client = await startClient({ folders: [uriOfPath(folder)] })
    const request = client.request
    await request('detent/profiles', {})
    const at = (file: string, line: number, more: object = {}): Promise<View> => {
      const textDocument = { uri: uriOfPath(join(folder, file)) }
      return request('detent/view', { textDocument, position: { line, character: 4 }, ...more })
    }
    const lineOf = (file: string, part: string): number =>
      readFileSync(join(folder, file), 'utf8')
        .split('\n')
        .findIndex(line => line.startsWith(part))
    const run = lineOf('runs.detent', 'run light-browse')
    const first = await at('runs.detent', run, { shown: '' })
    expect(first).toMatchObject({ kind: 'course', isFirst: true })
    expect(first.svg).toContain('class="dots"')
    expect(first.svg).not.toContain('Dots measured, lines predicted')
    const whole = await at('runs.detent', run, { shown: first.title })
    expect(whole.isFirst).toBeUndefined()
    expect(whole.title).toBe(first.title)
    expect(whole.svg).toContain('Dots measured, lines predicted')
    // Once it is made, it is the first.
    expect((await at('runs.detent', run, { shown: '' })).svg).toBe(whole.svg)
    const needs = lineOf('bench.detent', '  needs {')
    const ledger = await at('bench.detent', needs, { shown: '' })
    const tried = ledger.isFirst ? await at('bench.detent', needs, { shown: ledger.title }) : ledger
    const sentences = tried.marks?.map(({ sentence }) => sentence) ?? []
    for (const what of [/held 30 min/, /^To try next: \d/])
      expect(
        sentences.some(one => what.test(one)),
        String(what),
      ).toBe(true)
    // A file is never half of it.
    const other = lineOf('runs.detent', 'run light-compile')
    expect((await at('runs.detent', other, { as: 'csv' })).text).toContain('predicted')
  })

  it('is what the command draws', async () => {
    const folder = join(root, 'grammar/examples/bench')
    client = await startClient({ folders: [uriOfPath(folder)] })
    // The folder is looked through first.
    await client.request('detent/profiles', {})
    const file = uriOfPath(join(folder, 'light-work.detent'))
    const asked = { textDocument: { uri: file }, position: { line: 6, character: 3 }, width: 760, height: 480 }
    const { text } = await client.request<View>('detent/view', { ...asked, as: 'svg', kind: 'map' })
    // The line of the cursor is marked beside the text alone.
    expect(text?.replaceAll('mark here', 'mark')).toBe((await detent(folder, ['draw', 'map', 'light-work'])).out)
  })
})

describe('the way to the charts', () => {
  const titles = async (options: Readonly<Record<string, unknown>>, more: object = {}): Promise<unknown> => {
    const text = `${bench}${profile.replace('drive dew', 'expect pair holds >= 4 GHz\n  drive dew')}`
    client = await startClient({
      folders: ['memory://bench/'],
      files: { [uri]: text },
      initializationOptions: options,
      ...more,
    })
    await client.connection.sendNotification('textDocument/didOpen', {
      textDocument: { uri, languageId: 'detent', version: 1, text },
    })
    const lenses = await client.request<CodeLens[]>('textDocument/codeLens', { textDocument: { uri } })
    const line = text.split('\n').findIndex(one => one.startsWith('profile day'))
    const found = lenses.filter(({ command }) => command?.title === 'Charts')
    for (const one of found) {
      expect(one.command?.command).toBe('detent.showBeside')
      expect(one.command?.arguments).toEqual([uri, { line, character: 'profile '.length }])
    }
    return found.length
  }

  it('stands above a profile that expects something, for the client that opens it, unless it is turned off', async () => {
    expect(await titles({ showsPictures: true })).toBe(1)
    await client?.stop()
    expect(await titles({})).toBe(0)
    await client?.stop()
    expect(await titles({ showsPictures: true }, { settings: () => ({ codeLens: { charts: false } }) })).toBe(0)
  })
})

describe('the picture in a hover', () => {
  const shown = async (options: Readonly<Record<string, unknown>>, part: string): Promise<string> => {
    const text = `${bench}${profile}`
    client = await startClient({ folders: ['memory://bench/'], files: { [uri]: text }, initializationOptions: options })
    await client.connection.sendNotification('textDocument/didOpen', {
      textDocument: { uri, languageId: 'detent', version: 1, text },
    })
    const line = text.split('\n').findIndex(one => one.includes(part))
    const character = (text.split('\n')[line] ?? '').indexOf(part) + 3
    const hover = { textDocument: { uri }, position: { line, character } }
    const { contents } = await client.request<{ contents: { value: string } }>('textDocument/hover', hover)
    return contents.value
  }

  it.each([
    ['1 to 12 cores 50x', 'day: operating map for full activity'],
    ['te-plate kind', 'day: te-plate under full activity on 12 cores'],
  ])('of %s has words for it, and weighs little', async (part, words) => {
    const text = await shown({ showsPictures: true }, part)
    const picture = /!\[([^\]]+)\]\(data:image\/svg\+xml;base64,([A-Za-z0-9+/=]+)\)/.exec(text)
    expect(picture?.[1]).toBe(words)
    expect(picture?.[0].length).toBeLessThan(30_000)
    expect(atob(picture?.[2] ?? '')).toMatch(/^<svg [^>]*width="360" height="110"/)
    // The way to the large picture: our own command by name, with the place that was asked for and nothing of the text.
    const [, asked = ''] = /\[Show charts beside\]\(command:detent\.showBeside\?([^)]+)\)/.exec(text) ?? []
    expect(JSON.parse(decodeURIComponent(asked))).toEqual([uri, expect.objectContaining({ line: expect.any(Number) })])
  })

  it('is left out for a client that does not say that it shows pictures, and where there is none', async () => {
    expect(await shown({}, '1 to 12 cores 50x')).not.toContain('data:')
    await client?.stop()
    expect(await shown({ showsPictures: true }, 'humidity 40 %')).not.toContain('data:')
  })
})
