/** The first table's rows about servers in processes of their own: answers over the streams, the start, memory. */

import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { build } from 'esbuild'
import { serverFlags } from '../../../client/server-flags.ts'
import { root } from '../../harness/sources.ts'
import { middleRatio, pairOf } from './in-process.ts'
import { ratioOf, type Spread, spreadOf } from './measure.ts'
import { type Started, startServer } from './server.ts'
import type { Size } from './size.ts'
import { figure, type Row } from './table.ts'

/** The server as it is shipped and as the extension starts it; `npm run bench` builds it first. */
export const ownServer: readonly string[] = [
  ...serverFlags,
  join(root, 'dist', 'detent.cjs'),
  'language-server',
  '--stdio',
]

interface Side {
  readonly args: readonly string[]
  readonly uri: string
  readonly languageId: string
  readonly text: string
}

function open(server: Started, { uri, languageId, text }: Side): void {
  server.notify('textDocument/didOpen', { textDocument: { uri, languageId, version: 1, text } })
}

/** Findings over the streams of the newest text. */
async function pull(server: Started, { uri }: Side): Promise<void> {
  const answer = await server.ask('textDocument/diagnostic', { textDocument: { uri } }).answer
  if (answer === undefined) throw new Error('findings are asked for in vain')
}

/** One character, the last digit of a ratio in the middle of the text. */
function edit(server: Started, { uri, text }: Side, version: number): void {
  const before = text.slice(0, middleRatio(text)).split('\n')
  const start = { line: before.length - 1, character: before.at(-1)?.length ?? 0 }
  const range = { start, end: { ...start, character: start.character + 1 } }
  const contentChanges = [{ range, text: String(3 + (version % 5)) }]
  server.notify('textDocument/didChange', { textDocument: { uri, version }, contentChanges })
}

const row = (name: string, value: Spread, goal: number, beside: string): Row => ({
  name,
  value,
  goal,
  unit: 'times',
  better: 'less',
  beside,
})

const shown = (ours: Spread, theirs: Spread, unit: string): string =>
  `${figure(ours.median)} against ${figure(theirs.median)} ${unit}`

async function starts(sides: readonly Side[], size: Size): Promise<Row> {
  const times = sides.map((): { wallMs: number; cpuMs: number | undefined }[] => [])
  for (let round = 0; round <= size.starts; round++)
    for (const [index, side] of sides.entries()) {
      const from = performance.now()
      const server = await startServer(side.args, { isProbed: false })
      open(server, side)
      await pull(server, side)
      // As it is on every day but the first: that start reads files that the disk has not read yet, and keeps for the
      // next ones what is compiled.
      if (round > 0) times[index]?.push({ wallMs: performance.now() - from, cpuMs: server.cpuMs() })
      await server.stop()
    }
  const [ours, theirs] = times.map(each => spreadOf(each.map(({ wallMs }) => wallMs)))
  const [ourCpu, theirCpu] = times.map(each => spreadOf(each.map(({ cpuMs }) => cpuMs ?? Number.NaN)))
  if (!(ours && theirs && ourCpu && theirCpu)) throw new Error('two servers are compared')
  const cpu = ratioOf(ourCpu, theirCpu)
  const known = Number.isFinite(cpu.median)
  const clock = `by the clock ${shown(ours, theirs, 'ms')}, ${figure(ratioOf(ours, theirs).median)} times`
  return row(
    'cold start to first findings',
    known ? cpu : ratioOf(ours, theirs),
    0.75,
    `${known ? `${shown(ourCpu, theirCpu, 'ms')} of the main thread; ` : ''}${clock}; ${size.starts} starts after the first`,
  )
}

async function edits(sides: readonly Side[], size: Size): Promise<readonly Row[]> {
  const servers = await Promise.all(sides.map(side => startServer(side.args, { isProbed: true })))
  const times = sides.map((): { ms: number; cpuMs: number }[] => [])
  for (const [index, server] of servers.entries()) {
    const side = sides[index] as Side
    open(server, side)
    await pull(server, side)
    await server.probed()
  }
  for (let version = 2; version < size.edits + 2; version++)
    for (const [index, server] of servers.entries()) {
      const side = sides[index] as Side
      const [from, cpu] = [performance.now(), server.cpuMs() ?? Number.NaN]
      edit(server, side, version)
      await pull(server, side)
      times[index]?.push({ ms: performance.now() - from, cpuMs: (server.cpuMs() ?? Number.NaN) - cpu })
    }
  const memory = await Promise.all(servers.map(server => server.probed()))
  for (const server of servers) await server.stop()
  // A fifth of the edits each, so that the share of slow ones has a spread as well.
  const fifth = Math.ceil(size.edits / 5)
  const sharesOf = (share: number): readonly Spread[] =>
    times.map(each => {
      const parts = [0, 1, 2, 3, 4].map(part => each.slice(part * fifth, (part + 1) * fifth).map(({ ms }) => ms))
      return spreadOf(parts.map(part => part.sort((a, b) => a - b)[Math.ceil(share * part.length) - 1] ?? 0))
    })
  const [p50, p95] = [sharesOf(0.5), sharesOf(0.95)]
  const [ourCpu, theirCpu] = times.map(each => spreadOf(each.map(({ cpuMs }) => cpuMs)))
  const [our, their] = memory
  if (!(p50[0] && p50[1] && p95[0] && p95[1] && ourCpu && theirCpu && our && their)) throw new Error('two servers')
  const single = (value: number): Spread => ({ median: value, low: value, high: value })
  return [
    row(
      'over stdio, pulled findings, p50',
      ratioOf(p50[0], p50[1]),
      0.2,
      `by the clock ${shown(p50[0], p50[1], 'ms')}; ${shown(ourCpu, theirCpu, 'ms')} of the main thread`,
    ),
    row(
      'over stdio, pulled findings, p95',
      ratioOf(p95[0], p95[1]),
      0.4,
      `by the clock ${shown(p95[0], p95[1], 'ms')}`,
    ),
    row(
      `memory after ${size.edits} edits`,
      single(our.residentMb / their.residentMb),
      0.85,
      `resident ${figure(our.residentMb)} against ${figure(their.residentMb)} MB, live heap ${figure(our.heapMb)} against ${figure(their.heapMb)} MB`,
    ),
  ]
}

export async function servers(size: Size, say: (row: Row) => void): Promise<void> {
  const folder = mkdtempSync(join(tmpdir(), 'detent-bench-'))
  try {
    const peer = join(folder, 'peer.cjs')
    // In one file and minified, as the own server is, so that it starts as fast as it can.
    await build({
      entryPoints: [join(root, 'tests/speed/goals/peer-server.mjs')],
      outfile: peer,
      bundle: true,
      minify: true,
      platform: 'node',
      format: 'cjs',
      mainFields: ['module', 'main'],
      logLevel: 'error',
    })
    const { ours, theirs } = pairOf(size.lines)
    const sides: readonly Side[] = [
      { args: ownServer, uri: 'file:///bench/long.detent', languageId: 'detent', text: ours },
      { args: [peer, '--stdio'], uri: 'file:///bench/long.json', languageId: 'json', text: theirs },
    ]
    for (const one of await edits(sides, size)) say(one)
    say(await starts(sides, size))
  } finally {
    rmSync(folder, { recursive: true, force: true })
  }
}
