import { afterEach, describe, expect, it } from 'vitest'
import {
  CancellationTokenSource,
  type Diagnostic,
  LSPErrorCodes,
  type SemanticTokens,
  type SemanticTokensDelta,
  type TextDocumentClientCapabilities,
} from 'vscode-languageserver/node'
import type { OutlineSymbol } from '../../server/features/symbols.ts'
import { extent } from '../../server/lsp/extent.ts'
import { throughPieces } from '../../server/lsp/pieces.ts'
import type { Definition } from '../../server/semantic/definitions.ts'
import { evaluate } from '../../server/semantic/evaluate.ts'
import type { Scope } from '../../server/semantic/scope.ts'
import { createService } from '../../server/service.ts'
import { type FileView, isLonger } from '../../server/workspace/workspace.ts'
import { modernCapabilities, oldCapabilities, startClient, type TestClient } from '../harness/client.ts'
import { memoryFiles } from '../harness/file-systems.ts'
import { benchText, profileText } from '../speed/texts.ts'

/** Files of a great many lines: nothing is left out in silence, and what is asked meanwhile is answered. */

const folders = ['memory://large/']
const uri = 'memory://large/all.detent'

let client: TestClient | undefined

afterEach(async () => {
  await client?.stop()
  client = undefined
})

/** As long as a busy machine may take. */
async function eventually<T>(what: string, read: () => T | undefined): Promise<T> {
  for (const end = Date.now() + 40_000; Date.now() < end; ) {
    const value = read()
    if (value !== undefined) return value
    await new Promise(resolve => setTimeout(resolve, 20))
  }
  throw new Error(`${what} did not come`)
}

const codesOf = (found: readonly Diagnostic[]): readonly unknown[] => found.map(({ code }) => code)

/** A bench and so many profiles, of 27 lines and 28. */
const longText = (profiles: number): string =>
  benchText + Array.from({ length: profiles }, (_, index) => profileText(index)).join('')

const most = 3_650
const some = 200

/** The last profile leaves a gap in its steps, and in the last room a number has no unit. */
function faulty(profiles: number): string {
  const text = longText(profiles)
  const row = text.lastIndexOf('5 to 12 cores  46x')
  return `${text.slice(0, row)}6${text.slice(row + 1)}room last {\n  air 20\n  humidity 50 %\n}\n`
}

describe('a file of 100,000 lines', { timeout: 180_000 }, () => {
  it.each([
    ['asks', undefined],
    ['is sent', oldCapabilities],
  ] as const)('says to a client that %s what is still to come, and then finds it', async (_, capabilities) => {
    client = await startClient({ folders, ...(capabilities === undefined ? {} : { capabilities }) })
    const text = faulty(most)
    await client.open(uri, text)
    const { diagnostics, published } = client
    const sent = (): readonly Diagnostic[] | undefined => published.get(uri)?.diagnostics
    const found = await (capabilities === undefined ? diagnostics(uri) : eventually('findings', sent))
    const [notice] = found
    expect(notice).toMatchObject({ code: 'not-predicted', severity: 3, range: { start: { line: 0, character: 0 } } })
    expect(notice?.message).toMatch(/^Not everything is predicted yet: \d+ of 3,650 profiles so far/)
    expect(codesOf(found)).toContain('unit-missing')
    expect(codesOf(found)).not.toContain('steps-gap')
    const isAll = (now: readonly Diagnostic[]): boolean => !codesOf(now).includes('not-predicted')
    let all: readonly Diagnostic[] = found
    for (const end = Date.now() + 120_000; !isAll(all) && Date.now() < end; ) {
      await new Promise(resolve => setTimeout(resolve, 200))
      all = capabilities === undefined ? await diagnostics(uri) : (sent() ?? [])
    }
    expect(codesOf(all)).toContain('steps-gap')
    expect(codesOf(all)).not.toContain('not-predicted')
  })

  it('finds first what is wrong in what is visible', async () => {
    client = await startClient({ folders })
    const text = faulty(most)
    await client.open(uri, text)
    const last = text.split('\n').length - 1
    const range = { start: { line: last - 60, character: 0 }, end: { line: last, character: 0 } }
    await client.request('textDocument/inlayHint', { textDocument: { uri }, range })
    const found = await client.diagnostics(uri)
    expect(codesOf(found)).toEqual(expect.arrayContaining(['not-predicted', 'steps-gap']))
  })

  it('still predicts a profile that is asked for', async () => {
    client = await startClient({ folders })
    const text = longText(most)
    await client.open(uri, text)
    const line = text.slice(0, text.lastIndexOf('to 12 cores')).split('\n').length - 1
    const hover = await client.request('textDocument/hover', {
      textDocument: { uri },
      position: { line, character: 8 },
    })
    expect(JSON.stringify(hover)).toMatch(/\d\.\d\d\u00a0GHz.*\d+\.\d\u00a0°C/)
  })
})

describe('answers about the whole of a long file', { timeout: 180_000 }, () => {
  const methods = ['documentSymbol', 'foldingRange', 'semanticTokens/full']

  it('leave room between their definitions for what is asked meanwhile', async () => {
    client = await startClient({ folders })
    const { open, request } = client
    await open(uri, longText(most))
    const hover = () => request('textDocument/hover', { textDocument: { uri }, position: { line: 2, character: 6 } })
    await hover()
    for (const method of methods) {
      const order: string[] = []
      const whole = request(`textDocument/${method}`, { textDocument: { uri } }).then(() => order.push(method))
      await Promise.all([whole, hover().then(() => order.push('hover'))])
      expect(order).toEqual(['hover', method])
    }
  })

  it('of colours are what changed since, for a client that can take that', async () => {
    const semanticTokens = { ...modernCapabilities.textDocument?.semanticTokens, requests: { full: { delta: true } } }
    const textDocument = {
      ...modernCapabilities.textDocument,
      semanticTokens,
    } as TextDocumentClientCapabilities
    client = await startClient({ folders, capabilities: { ...modernCapabilities, textDocument } })
    const { open, change, request } = client
    const of = { textDocument: { uri } }
    const text = longText(20)
    await open(uri, text)
    const before = await request<Required<SemanticTokens>>('textDocument/semanticTokens/full', of)
    const row = text.indexOf('5 to 12 cores')
    await change(uri, 2, [{ text: `${text.slice(0, row)}\n# a word\n${text.slice(row)}` }])
    const { resultId: previousResultId } = before
    const delta = await request<SemanticTokensDelta>('textDocument/semanticTokens/full/delta', {
      ...of,
      previousResultId,
    })
    const data = [...before.data]
    expect(delta.edits).toHaveLength(1)
    for (const { start, deleteCount, data: put = [] } of delta.edits) {
      expect(put.length).toBeLessThan(before.data.length / 10)
      data.splice(start, deleteCount, ...put)
    }
    const whole = await request<SemanticTokens>('textDocument/semanticTokens/full', of)
    expect(data).toEqual(whole.data)
    const [known, gone] = [whole.resultId, 'of another session']
    const same = await request('textDocument/semanticTokens/full/delta', { ...of, previousResultId: known })
    expect(same).toMatchObject({ edits: [] })
    const again = await request('textDocument/semanticTokens/full/delta', { ...of, previousResultId: gone })
    expect(again).toMatchObject({ data: whole.data })
  })

  it('are worked out again for the edited definition alone', async () => {
    const service = createService(memoryFiles({}))
    const looked: string[] = []
    const through = throughPieces<OutlineSymbol, number>((found, lines) => {
      looked.push(...found.map(one => one.name))
      return lines.range(found[0]?.selection ?? { start: 0, end: 0 }).start.line
    })
    const names = async (text: string): Promise<readonly string[]> => {
      service.workspace.set(uri, text, 1)
      const found: string[] = []
      await through(service.features.documentSymbols(uri), (line, first, { find }) => {
        found.push(...find().map(({ name }) => `${name} ${first + line}`))
      })
      return found
    }
    const text = longText(20)
    const before = await names(text)
    expect(looked).toHaveLength(before.length)
    expect(before.length).toBeGreaterThan(20)
    looked.length = 0
    const row = text.indexOf('5 to 12 cores')
    const after = await names(`${text.slice(0, row)}\n\n${text.slice(row)}`)
    expect(looked).toEqual(['bench-run-0'])
    const lower = (one: string): string => one.replace(/\d+$/, line => String(Number(line) + 2))
    const edited = before.findIndex(one => one.startsWith('bench-run-0 '))
    expect(after).toEqual([...before.slice(0, edited + 1), ...before.slice(edited + 1).map(lower)])
  })
})

describe('a file below the limit', { timeout: 180_000 }, () => {
  it('is predicted whole, without a word', async () => {
    client = await startClient({ folders })
    const text = faulty(some / 2)
    await client.open(uri, text)
    const codes = codesOf(await client.diagnostics(uri))
    expect(codes).toContain('steps-gap')
    expect(codes).not.toContain('not-predicted')
  })

  it('leaves room between its profiles for what is asked meanwhile', async () => {
    client = await startClient({ folders })
    const { open, diagnostics, request } = client
    await open(uri, longText(some))
    const order: string[] = []
    const findings = diagnostics(uri).then(() => order.push('findings'))
    const hover = request('textDocument/hover', { textDocument: { uri }, position: { line: 2, character: 6 } }).then(
      () => order.push('hover'),
    )
    await Promise.all([findings, hover])
    expect(order).toEqual(['hover', 'findings'])
  })

  it('gets no fixes for a text that is another by then, though it is closed', async () => {
    // Longer than what is done before the change comes.
    const files = { [uri]: longText(5 * some) }
    client = await startClient({ folders, files })
    const { request, notify } = client
    await request('workspace/symbol', { query: 'weave' })
    const range = { start: { line: 0, character: 0 }, end: { line: 1, character: 0 } }
    const asked = request('textDocument/codeAction', { textDocument: { uri }, range, context: { diagnostics: [] } })
    asked.catch(() => undefined)
    await request('textDocument/hover', { textDocument: { uri }, position: { line: 2, character: 6 } })
    files[uri] = longText(1)
    await notify('workspace/didChangeWatchedFiles', { changes: [{ uri, type: 2 }] })
    await expect(asked).rejects.toMatchObject({ code: LSPErrorCodes.ContentModified })
  })

  it('stops being predicted when nobody waits any more', async () => {
    client = await startClient({ folders })
    const { open, connection, request } = client
    await open(uri, longText(some))
    const source = new CancellationTokenSource()
    const asked = connection.sendRequest('textDocument/diagnostic', { textDocument: { uri } }, source.token)
    await request('textDocument/hover', { textDocument: { uri }, position: { line: 2, character: 6 } })
    source.cancel()
    await expect(asked).rejects.toMatchObject({ code: LSPErrorCodes.RequestCancelled })
  })

  it('is answered for the newest text, though that came while it was predicted', async () => {
    client = await startClient({ folders, capabilities: oldCapabilities })
    const { open, change, request, published } = client
    const text = longText(some)
    await open(uri, text)
    // The pause after which findings are sent has passed, and the first profiles are being predicted.
    await new Promise(resolve => setTimeout(resolve, 200))
    await request('textDocument/hover', { textDocument: { uri }, position: { line: 2, character: 6 } })
    await change(uri, 2, [{ text: faulty(some / 2) }])
    // Of the text before, something may have been sent just then.
    await expect.poll(() => codesOf(published.get(uri)?.diagnostics ?? []), { timeout: 20_000 }).toContain('steps-gap')
  })
})

describe('the limit', () => {
  it('lies where these texts say that it does', () => {
    expect(isLonger(longText(most), 99_999)).toBe(true)
    expect(isLonger(longText(some), extent.predictedLines)).toBe(false)
  })

  it('counts lines as they are', () => {
    expect(isLonger('a\nb\nc', 3)).toBe(false)
    expect(isLonger('a\nb\nc\n', 3)).toBe(true)
    expect(isLonger('\n\n', 2)).toBe(true)
    expect(isLonger('', 1)).toBe(false)
  })

  it('predicts visible profiles first, and ends with the same findings', async () => {
    const text = faulty(30)
    const made = async (predictedLines: number) => {
      const service = createService(memoryFiles({ [uri]: text }), { extent: { predictedLines } })
      await service.workspace.load([uri])
      return service
    }
    const [service, whole] = [await made(100), await made(100_000)]
    const at = text.indexOf('profile bench-run-20 ')
    const names = (): readonly string[] => service.workspace.view(uri)?.predicted.map(({ name }) => name) ?? []
    const steps = service.prepareFindings(uri, { start: at + 1, end: at + 2 })
    expect(names()).toEqual([])
    for (let step = steps.next(); step.value !== 'seen'; step = steps.next()) expect(step.done).toBe(false)
    expect(names()).toContain('bench-run-20')
    expect(names().length).toBeLessThan(3)
    const codes = (): readonly string[] => service.findings(uri).map(({ finding }) => finding.code)
    expect(codes()).not.toContain('steps-gap')
    for (const _ of steps);
    expect(names()).toHaveLength(30)
    expect(service.findings(uri)).toEqual(whole.findings(uri))
    expect(codes()).toContain('steps-gap')
  })

  const other = 'memory://large/other.detent'

  /** A long file, and one that starts from its second profile and has a load more: it sees that profile another way. */
  async function twoFiles() {
    const own = `detent 1\nuse "all.detent"\nload burst { cores 3; activity 1.1 }\nprofile own based-on bench-run-1 {\n  vector -2x\n}\n`
    const service = createService(memoryFiles({ [uri]: faulty(3), [other]: own }), { extent: { predictedLines: 50 } })
    await service.workspace.load([uri, other])
    const second = service.workspace.view(uri)?.profiles[1] as Definition
    return {
      service,
      names: () => service.workspace.view(uri)?.predicted.map(({ name }) => name),
      lookFromElsewhere: () => evaluate(service.workspace.view(other)?.scope as Scope, second),
    }
  }

  const all = ['bench-run-0', 'bench-run-1', 'bench-run-2']

  it('is passed once all is predicted, whatever other files make of the profiles', async () => {
    const { service, names, lookFromElsewhere } = await twoFiles()
    for (const _ of service.prepareFindings(uri));
    lookFromElsewhere()
    expect(names()).toEqual(all)
  })

  it('is passed also where another file looks at a profile while the rest is predicted', async () => {
    const { service, names, lookFromElsewhere } = await twoFiles()
    const at = service.workspace.document(uri)?.source.text.indexOf('profile bench-run-1 ') ?? 0
    let isSeen = false
    for (const step of service.prepareFindings(uri, { start: at, end: at + 1 })) {
      isSeen ||= step === 'seen'
      if (isSeen) lookFromElsewhere()
    }
    expect(names()).toEqual(all)
    // An editor that asks again finds the rest made, and asks no more.
    expect(service.findings(uri)).toBe(service.findings(uri))
  })

  it('is not passed by findings that came before another profile was predicted', async () => {
    const { service, names } = await twoFiles()
    const { workspace } = service
    const text = workspace.document(uri)?.source.text ?? ''
    // The last starts from the first with the same mistake: what is found in it is compared with what is found there.
    const based = text.replace('profile bench-run-2 {', 'profile bench-run-2 based-on bench-run-0 {')
    workspace.set(uri, based.replace('5 to 12 cores  46x', '6 to 12 cores  46x'), 2)
    const { scope, profiles } = workspace.view(uri) as FileView
    for (const one of profiles.slice(1)) evaluate(scope, one)
    expect(names()).toEqual(all.slice(1))
    const before = service.findings(uri)
    expect(before.map(({ finding }) => finding.code)).not.toContain('profile-unfinished')
    expect(names()).toEqual(all)
    const after = service.findings(uri)
    expect(after.length).toBeGreaterThan(before.length)
  })

  it('is not one of the command', async () => {
    const text = longText(10)
    const of = async (predictedLines?: number): Promise<number> => {
      const files = memoryFiles({ [uri]: text })
      const service = createService(files, { extent: predictedLines === undefined ? undefined : { predictedLines } })
      await service.workspace.load([uri])
      return service.evaluations(uri).length
    }
    expect(await of()).toBeGreaterThan(5)
    expect(await of(100)).toBe(0)
  })
})
