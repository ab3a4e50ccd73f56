/** What a sub-command may touch of the process, so that a test can run one in its own process and read what it wrote. */

import { randomInt } from 'node:crypto'
import { wording } from '../service.ts'

export interface Output {
  /** Characters that a terminal obeys are shown instead, but for those of `control`. */
  write(text: string): void
  /** Byte for byte, for whoever takes a text on; on a terminal as `write` does. */
  writeExact?(text: string): void
  /** True where a person reads along. */
  readonly isTerminal: boolean
  /** Characters in a line of the terminal; undefined where nobody reads along. */
  readonly columns?: number | undefined
}

export interface Io {
  /** The folder the command runs in; paths in the output are relative to it. */
  readonly folder: string
  readonly env: Readonly<Record<string, string | undefined>>
  /** How the command is called here, for the calls that it proposes; `detent` where it is left out. */
  readonly command?: string
  readonly out: Output
  readonly err: Output
  /** All bytes of standard input. */
  readInput(): Promise<Uint8Array>
}

/** 0: nothing at error level, or at the level asked for; 1: findings; 2: an unusable command line. */
export type ExitCode = 0 | 1 | 2

/** A call that cannot be used: its message is one line for a person, and the exit code is 2. */
export class UnusableCall extends Error {}

const incomplete = new WeakSet<Io>()

/** Says that something could not be read; what else was asked for goes on without it, and the call does not end with 0. */
export function leaveOut(io: Io, what: string, why: string): void {
  io.err.write(`detent: ${what}: ${why}; left out\n`)
  incomplete.add(io)
}

/** Whether something asked for was left out. */
export const leftOut = (io: Io): boolean => incomplete.has(io)

/**
 * Control sequences of our own. They go through the layout as sequences that take no room, with numbers that this process
 * alone knows: no text that is read has them, and whatever has others is shown as text.
 */
const own: string[] = []
const ownNumbers = Array.from({ length: 6 }, () => randomInt(1000, 10_000)).join(';')
const ownSequence = new RegExp(`${String.fromCharCode(27)}\\[${ownNumbers};(\\d+)m`)

/** A control sequence that reaches the terminal as it is. */
export function control(sequence: string): string {
  const known = own.indexOf(sequence)
  const index = known < 0 ? own.push(sequence) - 1 : known
  return `\u001b[${ownNumbers};${index}m`
}

/** What is written in fact: nothing that a terminal obeys, but for what is ours. */
function written(text: string): string {
  return text
    .split(ownSequence)
    .map((part, index) => (index % 2 === 0 ? wording.visible(part) : (own[Number(part)] ?? '')))
    .join('')
}

/** The same process with outputs that let nothing through that a terminal obeys. */
export function guarded(io: Io): Io {
  const guard = (output: Output): Output => ({
    ...output,
    write: text => output.write(written(text)),
    writeExact: text => output.write(output.isTerminal ? written(text) : text),
  })
  return { ...io, out: guard(io.out), err: guard(io.err) }
}

/** The running process. */
export function processIo(): Io {
  return {
    folder: process.cwd(),
    env: process.env,
    command: process.env.npm_lifecycle_event === 'detent' ? 'npm run -s detent --' : 'detent',
    out: {
      write: text => void process.stdout.write(text),
      isTerminal: process.stdout.isTTY === true,
      columns: process.stdout.isTTY ? process.stdout.columns : undefined,
    },
    err: { write: text => void process.stderr.write(text), isTerminal: process.stderr.isTTY === true },
    readInput: async () => {
      const pieces: Uint8Array[] = []
      for await (const piece of process.stdin) pieces.push(piece as Uint8Array)
      return Buffer.concat(pieces)
    },
  }
}
