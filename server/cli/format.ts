/** `detent format`. */

import type { Command } from 'commander'
import { applyEdits, createService } from '../service.ts'
import { decode } from '../workspace/files.ts'
import { nodeFiles, type Reach, readSource, reasonOf } from '../workspace/node-files.ts'
import { writeWhole } from '../workspace/writer.ts'
import { type AskedFile, askedFiles } from './files.ts'
import { type ExitCode, type Io, UnusableCall } from './io.ts'
import { linesOf } from './lines.ts'

const examples = `
Changes white space and spelling variants (degC, +-, >= ...), never order, digits or comments. A line in error stays as
it is. A file is written whole or not at all; one with bytes that are not UTF-8 is never written.

Examples:
  detent format winter.detent        format one file
  detent format                      every .detent file below this folder
  detent format --check .            write nothing; exit 1 where something would change
  detent format - < in > out         from standard input to standard output
`

const inputUri = 'untitled:standard-input'

interface Formatted {
  /** The text as it should stand; equal to the text that was read where there is nothing to do. */
  readonly text: string
  readonly changed: boolean
}

/** Formats the bytes of a file. Errors: `UnusableCall` where they are not valid UTF-8. */
function formatBytes(bytes: Uint8Array, name: string): Formatted {
  const { text, invalidAt } = decode(bytes)
  if (invalidAt !== undefined) {
    const { line, column } = linesOf(text).at(invalidAt)
    throw new UnusableCall(`${name}:${line}:${column}: not valid UTF-8 from here on, so the file is left as it is`)
  }
  const service = createService(nodeFiles)
  service.workspace.set(inputUri, text, 0)
  const formatted = applyEdits(text, service.formatting(inputUri))
  // Compared as bytes, so that a byte order mark, which reading drops, counts as a change.
  return { text: formatted, changed: Buffer.compare(Buffer.from(formatted), bytes) !== 0 }
}

async function formatInput(io: Io, check: boolean): Promise<ExitCode> {
  const { text, changed } = formatBytes(await io.readInput(), 'standard input')
  if (!check) {
    const { out } = io
    ;(out.writeExact ?? out.write)(text)
    return 0
  }
  if (changed) io.out.write('standard input would be formatted\n')
  return changed ? 1 : 0
}

async function formatFile(
  io: Io,
  { path, shown }: AskedFile,
  reach: Reach | undefined,
  check: boolean,
): Promise<ExitCode> {
  const bytes = await readSource(path, reach)
  if (bytes === undefined) throw new UnusableCall(`${shown}: there is no such file or folder`)
  if ('why' in bytes) throw new UnusableCall(`${shown}: ${bytes.why}`)
  const { text, changed } = formatBytes(bytes, shown)
  if (!changed) return 0
  if (!check) {
    await writeWhole(path, text, { bytes }).catch(error => {
      throw new UnusableCall(`${shown}: not written: ${reasonOf(error)}`)
    })
  }
  io.out.write(check ? `${shown} would be formatted\n` : `${shown} formatted\n`)
  return check ? 1 : 0
}

async function formatAll(io: Io, paths: readonly string[], check: boolean): Promise<ExitCode> {
  if (paths.includes('-')) {
    if (paths.length > 1) throw new UnusableCall('`-` means standard input and takes no other path with it')
    return formatInput(io, check)
  }
  let worst: ExitCode = 0
  const failures: string[] = []
  const { files, reach } = await askedFiles(io, paths, {})
  for (const file of files) {
    try {
      const code = await formatFile(io, file, reach, check)
      if (code > worst) worst = code
    } catch (error) {
      // One file that cannot be written keeps none of the others from being formatted.
      if (!(error instanceof UnusableCall)) throw error
      failures.push(error.message)
    }
  }
  for (const failure of failures) io.err.write(`detent: ${failure}\n`)
  return failures.length > 0 ? 2 : worst
}

/** `detent format`: files, or standard input, in the one layout. */
export function addFormat(program: Command, io: Io, finish: (code: ExitCode) => void): void {
  program
    .command('format')
    .description('Format profiles.')
    .argument('[paths...]', 'files, or folders with all .detent files below them, or - (default: this folder)')
    .option('--check', 'write nothing; list what would change and exit 1 where something would')
    .addHelpText('after', examples)
    .action(async (paths: string[], { check }: { readonly check?: true }) => {
      finish(await formatAll(io, paths, check === true))
    })
}
