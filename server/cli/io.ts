/** What a sub-command may touch of the process, so that a test can run one in its own process and read what it wrote. */

export interface Output {
  write(text: string): void
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

/** 0: nothing at error level, or at the level asked for; 1: findings; 2: a call that cannot be used. */
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
