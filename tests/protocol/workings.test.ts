import { marked } from 'marked'
import { afterEach, describe, expect, it } from 'vitest'
import type { Hover } from 'vscode-languageserver/node'
import { bench } from '../features/bench.ts'
import { type ClientOptions, modernCapabilities, startClient, type TestClient } from '../harness/client.ts'

/** A hover in our own client and in others, and the page that our own opens beside the text. */

const folder = 'memory://bench/'
const uri = `${folder}a%20(daily).detent`
const text = `${bench}
profile daily {
  note "[x](command:workbench.action.quit) <https://evil.invalid>"
  part sample-b7
  cooler big-loop
  room garage
  steps { 1 to 12 cores 50x }
}
`

let client: TestClient | undefined

async function start(options: ClientOptions = {}): Promise<TestClient> {
  client = await startClient({ folders: [folder], files: { [uri]: text }, ...options })
  await client.open(uri, text)
  return client
}

afterEach(async () => {
  await client?.stop()
  client = undefined
})

function placeOf(mark: string): { readonly line: number; readonly character: number } {
  const before = text.slice(0, text.lastIndexOf(mark)).split('\n')
  return { line: before.length - 1, character: before.at(-1)?.length ?? 0 }
}

async function hoverOf({ request }: TestClient, mark: string): Promise<string> {
  const hover = await request<Hover>('textDocument/hover', { textDocument: { uri }, position: placeOf(mark) })
  return (hover.contents as { value: string }).value
}

interface Paper {
  readonly markdown?: string
  readonly trouble?: string
}

function workingsOf({ request }: TestClient, params: unknown): Promise<Paper> {
  return request<Paper>('detent/workings', params)
}

const own: ClientOptions = { initializationOptions: { showsWorkings: true } }

describe('a hover of our own client', () => {
  it('has the answer and one link, to the one command, with the place that was asked for', async () => {
    const started = await start(own)
    const shown = await hoverOf(started, 'daily {')
    expect(shown).not.toContain('At worst, over every number')
    const links = [...marked.parse(shown, { async: false }).matchAll(/<a href="([^"]*)"/g)].map(([, href]) => href)
    expect(links).toHaveLength(1)
    const [, query = ''] = /^command:detent\.showWorkings\?(.+)$/.exec(links[0] ?? '') ?? []
    expect(JSON.parse(decodeURIComponent(query))).toEqual([uri, placeOf('daily {')])
  })

  it('opens as a page that has everything', async () => {
    const started = await start(own)
    const answer = (await hoverOf(started, 'daily {')).split('\n\n').slice(0, -1).join('\n\n')
    const { markdown = '' } = await workingsOf(started, { textDocument: { uri }, position: placeOf('daily {') })
    expect(markdown.startsWith(answer)).toBe(true)
    expect(markdown).toContain('At worst, over every number')
    expect(markdown).not.toContain('(command:detent')
    const alive = marked.parse(markdown, { async: false }).match(/<a |<img |<script/g)
    expect(alive).toBeNull()
  })

  it('has no link where the answer is all there is', async () => {
    const started = await start(own)
    expect(await hoverOf(started, 'reference 100 MHz')).not.toContain('command:')
  })

  it('says so where there is nothing any more, and where no place is named', async () => {
    const started = await start(own)
    const position = { line: 0, character: 99 }
    for (const params of [
      { textDocument: { uri }, position: { line: 1, character: 0 } },
      { textDocument: { uri: 'memory://bench/none.detent' }, position },
    ]) {
      expect(await workingsOf(started, params)).toEqual({ trouble: 'There is nothing to show at that place any more.' })
    }
    for (const params of [null, {}, { textDocument: null, position }, { textDocument: { uri }, position: 'x' }]) {
      expect(await workingsOf(started, params)).toEqual({ trouble: 'No place is named.' })
    }
  })
})

describe('a hover of another client', () => {
  it('has everything, and no command', async () => {
    const shown = await hoverOf(await start(), 'daily {')
    expect(shown).toContain('At worst, over every number')
    expect(shown).not.toContain('(command:detent')
  })

  it('has everything in plain text, even where it says that it opens workings', async () => {
    const { textDocument, ...others } = modernCapabilities
    const capabilities = {
      ...others,
      textDocument: { ...textDocument, hover: { contentFormat: ['plaintext' as const] } },
    }
    const shown = await hoverOf(await start({ ...own, capabilities }), 'daily {')
    expect(shown).toContain('At worst, over every number')
    expect(shown).not.toContain('(command:detent')
  })

  it('breaks no figure from its unit', async () => {
    const shown = await hoverOf(await start(), 'daily {')
    expect(shown).toMatch(/\d\u00a0GHz/)
    expect(shown.replace(/`[^`]*`/g, '')).not.toMatch(/\d (?:GHz|°C|W|A|V|K|%)(?![\w/])/)
  })
})
