/**
 * Runs the command from its arguments to its exit code.
 *
 * Deliberately absent: a sub-command that enters values into firmware (`sheet` says what a person enters), a file of
 * settings (a profile says all that counts, and options say the rest), and anything that asks the network.
 */

import { Command, CommanderError } from 'commander'
import { addReport } from './bench-report.ts'
import { addCheck } from './check.ts'
import { addCompare } from './compare.ts'
import { addDraw } from './draw.ts'
import { addEvidence } from './evidence.ts'
import { addFit } from './fit.ts'
import { addFormat } from './format.ts'
import { addGlance } from './glance.ts'
import { type ExitCode, guarded, type Io, leftOut, UnusableCall } from './io.ts'
import { addLanguageServer } from './language-server.ts'
import { inOneLine } from './lines.ts'
import { addNext } from './next.ts'
import { addPredict } from './predict.ts'
import { addPropose } from './propose.ts'
import { addReach } from './reach.ts'
import { addSheet } from './sheet.ts'
import { packageVersion } from './version.ts'

const about =
  'Checks and predicts hand-made processor tuning profiles. It reads and writes text files and never touches hardware. ' +
  "The maker's limits, local codes and licensed practice come before anything it says."

const epilogue = `
Exit code: 0 nothing at error level (or at the level named with --fail-on), 1 findings, 2 an unusable command line.

Examples:
  detent glance                     a first look at the bench in this folder
  detent check                      check every profile below this folder
  detent predict winter.detent      what each load settles at
  detent fit --write first.detent   the constants of a part from what you have seen
  detent compare winter summer      two profiles side by side
  detent propose winter             the highest steps, and the fewest bands, that hold everywhere
  detent sheet winter               what to enter into the firmware
  detent format --check .           fail where a file is not formatted
`

/** One line for a person, whatever was thrown. */
function lineOf(error: unknown): string {
  const message = error instanceof Error ? error.message : String(error)
  return `detent: ${inOneLine(message.replace(/^error: /, '').trim())}\n`
}

function createProgram(io: Io, finish: (code: ExitCode) => void): Command {
  const program = new Command('detent')
  program
    .description(about)
    .version(packageVersion(), '--version', 'print the version')
    .helpOption('-h, --help', 'print this help')
    .helpCommand('help [command]', 'print the help of a sub-command')
    .addHelpText('after', epilogue)
    .exitOverride()
    // Errors are written once, at the end, as one line; commander would write its own before.
    .configureOutput({
      writeOut: text => io.out.write(text),
      writeErr: text => io.err.write(text),
      outputError: () => undefined,
    })
  addGlance(program, io, finish)
  addCheck(program, io, finish)
  addFormat(program, io, finish)
  addPredict(program, io, finish)
  addCompare(program, io, finish)
  addSheet(program, io, finish)
  addFit(program, io, finish)
  addEvidence(program, io, finish)
  addNext(program, io, finish)
  addReach(program, io, finish)
  addPropose(program, io, finish)
  addDraw(program, io, finish)
  addReport(program, io, finish)
  addLanguageServer(program)
  return program
}

/**
 * Runs the command. Never throws: whatever goes wrong is one line on the error output and exit code 2; its stack is
 * printed only where `DETENT_DEBUG` is set.
 * @param args what stands behind the command's name
 */
export async function run(args: readonly string[], outer: Io): Promise<ExitCode> {
  const io = guarded(outer)
  let code: ExitCode = 0
  const program = createProgram(io, result => {
    code = result
  })
  try {
    if (args.length === 0) {
      const names = program.commands.map(command => command.name()).join(', ')
      throw new UnusableCall(`name a sub-command: ${names} (more: detent --help)`)
    }
    await program.parseAsync([...args], { from: 'user' })
    return code === 0 && leftOut(io) ? 1 : code
  } catch (error) {
    if (error instanceof CommanderError && error.exitCode === 0) return 0
    io.err.write(lineOf(error))
    if (io.env.DETENT_DEBUG && error instanceof Error) io.err.write(`${error.stack}\n`)
    return 2
  }
}
