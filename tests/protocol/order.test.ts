import { spawn } from 'node:child_process'
import { once } from 'node:events'
import { afterEach, describe, expect, it } from 'vitest'
import { bench } from '../features/bench.ts'
import { commandSource } from '../harness/process.ts'

/** What the protocol asks of the order of messages, over the streams of a real process. */

interface Answer {
  readonly id?: number | null
  readonly result?: unknown
  readonly error?: { readonly code: number; readonly message: string }
}

interface Server {
  raw(text: string): void
  notify(method: string, params?: unknown): void
  request(method: string, params?: unknown): Promise<Answer>
  end(): Promise<{ readonly code: number | null; readonly stderr: string }>
}

let kill: (() => void) | undefined
afterEach(() => kill?.())

function start(): Server {
  const child = spawn(process.execPath, [commandSource, 'language-server', '--stdio'], { stdio: 'pipe' })
  const ended = once(child, 'exit')
  kill = () => child.kill('SIGKILL')
  const waiting = new Map<number, (answer: Answer) => void>()
  let [seen, stderr, last] = [Buffer.alloc(0), '', 0]
  child.stderr.on('data', chunk => {
    stderr += chunk
  })
  child.stdout.on('data', (chunk: Buffer) => {
    seen = Buffer.concat([seen, chunk])
    for (;;) {
      const head = /Content-Length: (\d+)\r\n\r\n/.exec(seen.toString('latin1'))
      if (head === null) return
      const from = head.index + head[0].length
      if (seen.length < from + Number(head[1])) return
      const message = JSON.parse(seen.subarray(from, from + Number(head[1])).toString('utf8')) as Answer
      seen = seen.subarray(from + Number(head[1]))
      if (typeof message.id === 'number' && !('method' in message)) waiting.get(message.id)?.(message)
    }
  })
  const raw = (text: string): void => void child.stdin.write(text)
  const send = (message: object): void => {
    const body = JSON.stringify({ jsonrpc: '2.0', ...message })
    raw(`Content-Length: ${Buffer.byteLength(body)}\r\n\r\n${body}`)
  }
  return {
    raw,
    notify: (method, params) => send({ method, params }),
    request: (method, params) => {
      const id = ++last
      const answer = new Promise<Answer>(resolve => waiting.set(id, resolve))
      send({ id, method, params })
      return answer
    },
    end: async () => {
      const [code] = (await ended) as [number | null]
      return { code, stderr }
    },
  }
}

const introduction = { processId: null, rootUri: null, capabilities: {} }
const textDocument = { uri: 'memory://bench/a.detent' }

describe('the order of messages', () => {
  it('before `initialize` requests are refused and notifications dropped', async () => {
    const server = start()
    server.notify('textDocument/didOpen', {
      textDocument: { ...textDocument, languageId: 'detent', version: 1, text: bench },
    })
    const early = await server.request('textDocument/hover', { textDocument, position: { line: 3, character: 2 } })
    expect(early.error?.code).toBe(-32002)
    expect((await server.request('shutdown')).error?.code).toBe(-32002)
    expect((await server.request('initialize', introduction)).result).toBeDefined()
    server.notify('initialized', {})
    const hover = await server.request('textDocument/hover', { textDocument, position: { line: 3, character: 2 } })
    expect(hover).toMatchObject({ result: null })
  })

  it('a second `initialize` is an error, and the session goes on', async () => {
    const server = start()
    await server.request('initialize', introduction)
    server.notify('initialized', {})
    server.notify('textDocument/didOpen', {
      textDocument: { ...textDocument, languageId: 'detent', version: 1, text: bench },
    })
    expect((await server.request('initialize', introduction)).error?.code).toBe(-32600)
    const hover = await server.request('textDocument/hover', { textDocument, position: { line: 3, character: 2 } })
    expect(JSON.stringify(hover.result)).toContain('12 cores')
  })

  it('after `shutdown` requests are refused, and `exit` ends with 0', async () => {
    const server = start()
    await server.request('initialize', introduction)
    expect(await server.request('shutdown')).toMatchObject({ result: null })
    for (const method of ['textDocument/hover', 'shutdown', 'initialize'])
      expect((await server.request(method, {})).error?.code).toBe(-32600)
    server.notify('exit')
    expect((await server.end()).code).toBe(0)
  })

  it('`exit` without `shutdown` ends with 1', async () => {
    const server = start()
    server.notify('exit')
    expect((await server.end()).code).toBe(1)
  })

  it('parameters that are null are taken as none', async () => {
    const server = start()
    await server.request('initialize', introduction)
    server.notify('initialized', null)
    expect((await server.request('textDocument/hover', null)).error?.code).toBe(-32602)
    expect(await server.request('shutdown', null)).toMatchObject({ result: null })
    server.notify('exit', null)
    expect((await server.end()).code).toBe(0)
  })

  it('a header without a length ends the process with a word', async () => {
    const server = start()
    await server.request('initialize', introduction)
    server.raw('Content-Type: text/plain\r\n\r\n{}')
    const { code, stderr } = await server.end()
    expect(code).toBe(1)
    expect(stderr).toMatch(/^detent: the input is not the language server protocol: .*Content-Length/)
  })

  it('a body that is not JSON costs that message alone', async () => {
    const server = start()
    await server.request('initialize', introduction)
    server.raw('Content-Length: 5\r\n\r\n{"id"')
    expect(await server.request('shutdown')).toMatchObject({ result: null })
  })
})
