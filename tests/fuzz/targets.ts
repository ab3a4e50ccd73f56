/** What is tried with arbitrary input: each target takes one input and throws where something does not hold. */

import { readdirSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import fc from 'fast-check'
import { findUnit } from '../../grammar/units/units.ts'
import { proposeMapping } from '../../server/bench/log/propose.ts'
import { readLog } from '../../server/bench/log/reader.ts'
import { memoryLogs } from '../../server/bench/log/source.ts'
import { createService } from '../../server/service.ts'
import { detent } from '../cli/helpers.ts'
import { memoryFiles } from '../harness/file-systems.ts'
import { temporaryFolder } from '../harness/process.ts'
import { askAll } from './known.ts'
import { sameAsFresh, steps } from './sessions.ts'
import { someFile, someLog } from './texts.ts'
import { answersAll, calls } from './wire.ts'

export interface Target<T = unknown> {
  readonly name: string
  readonly input: fc.Arbitrary<T>
  readonly run: (input: T) => Promise<void>
}

/** No single input may take more of a processor, however busy the machine is. */
const mostCpuMs = 20_000

const target = <T>(name: string, input: fc.Arbitrary<T>, run: (input: T) => Promise<void>): Target<T> => ({
  name,
  input,
  run: async one => {
    const start = process.cpuUsage()
    await run(one)
    const { user, system } = process.cpuUsage(start)
    const ms = (user + system) / 1e3
    if (ms > mostCpuMs) throw new Error(`took ${Math.round(ms)} ms of a processor`)
  },
})

const uri = 'file:///bench/a.detent'

/** Parser, checks and every feature, in process. */
const features = target(
  'features',
  fc.tuple(someFile, fc.array(fc.nat(), { maxLength: 6 })),
  async ([text, offsets]) => {
    const service = createService(memoryFiles({ [uri]: text }), { logs: memoryLogs({}) })
    await service.workspace.load([uri])
    askAll(service, uri, text, offsets)
  },
)

const columns = [
  { kind: 'time', header: 'elapsed', unit: findUnit('s') as NonNullable<ReturnType<typeof findUnit>> },
  { kind: 'power', header: 'package', unit: findUnit('W') as NonNullable<ReturnType<typeof findUnit>> },
] as const

/** The log reader, in pieces of any size. */
const logs = target('logs', fc.tuple(someLog, fc.integer({ min: 1, max: 500 })), async ([text, bytes]) => {
  const whole = await readLog(memoryLogs({ log: text }), 'log', { columns })
  const inPieces = await readLog(memoryLogs({ log: text }, bytes), 'log', { columns })
  // Where the first piece alone decides how bytes spell text, pieces must be larger than a character.
  if (
    Buffer.byteLength(text) === text.length &&
    !text.includes('\0') &&
    JSON.stringify(whole) !== JSON.stringify(inPieces)
  )
    throw new Error(`read in pieces of ${bytes} bytes it is another log`)
  if (whole.state === 'read' && whole.rows < whole.series.timeS.length)
    throw new Error(`${whole.rows} rows, ${whole.series.timeS.length} times`)
  await proposeMapping(memoryLogs({ log: text }), 'log')
})

const outputs = fc.constantFrom('text', 'json', 'sarif', 'junit')
const command: fc.Arbitrary<readonly string[]> = fc.oneof<fc.Arbitrary<readonly string[]>[]>(
  outputs.map(output => ['check', '--output', output, 'a.detent']),
  fc.constantFrom('text', 'json').map(output => ['predict', '--output', output, 'a.detent']),
  fc.constantFrom('text', 'json', 'markdown', 'html').map(output => ['sheet', '--output', output, '$profile']),
  fc.constantFrom('text', 'json').map(output => ['compare', '--output', output, '$profile', '$profile']),
  fc.constantFrom('text', 'json').map(output => ['fit', '--part', '$part', '--output', output, 'a.detent']),
  fc.constant(['report', '--to', 'page.html', 'a.detent']),
  fc.constant(['format', 'a.detent']),
  fc.constant(['format', '--check', '.']),
  fc.array(
    fc.constantFrom('check', 'predict', '--output', 'json', '--fail-on', 'x', 'a.detent', '.', '-', '--', '\u0000'),
    {
      maxLength: 5,
    },
  ),
)

/** All sub-commands: a known exit code, one line at the most where the call is refused, no trace of the program itself. */
const commands = target('commands', fc.tuple(someFile, command), async ([text, form]) => {
  const named = (kind: string): string => new RegExp(`^${kind} ([a-z][a-z0-9-]*)`, 'm').exec(text)?.[1] ?? 'x'
  const args = form.map(one => one.replace(/^\$(.*)$/, (_, kind: string) => named(kind)))
  using folder = temporaryFolder({ 'a.detent': text })
  const { code, out, err } = await detent(folder.path, args, { env: { DETENT_DEBUG: '1' } })
  if (![0, 1, 2].includes(code)) throw new Error(`${args.join(' ')}: exit code ${code}`)
  const crash = /^(?:Type|Range|Reference|Syntax|URI)Error\b/m.exec(err)
  if (crash !== null) throw new Error(`${args.join(' ')}: ${err}`)
  if (args.includes('json') && code < 2 && out !== '') JSON.parse(out)
  const kept = readFileSync(join(folder.path, 'a.detent'), 'utf8')
  if (args[0] !== 'format' && kept !== Buffer.from(text).toString())
    throw new Error(`${args.join(' ')} changed the file`)
  const left = readdirSync(folder.path).filter(name => name !== 'a.detent' && name !== 'page.html')
  if (left.length > 0) throw new Error(`${args.join(' ')} left ${left.join(', ')}`)
})

/** Any requests and notifications in any order, with anything in place of a parameter. */
const protocol = target('protocol', fc.tuple(someFile, calls), ([text, list]) => answersAll(text, list))

/** A server whose files are opened, edited, closed, and changed, moved, deleted on disk knows what a fresh one knows. */
const sessions = target('sessions', steps, list => sameAsFresh(list))

export const targets: readonly Target<never>[] = [features, logs, commands, protocol, sessions] as never
