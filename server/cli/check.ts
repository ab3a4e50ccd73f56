/** `detent check`. */

import { type Command, InvalidArgumentError, Option } from 'commander'
import type { Severities } from '../checks/run.ts'
import type { Severity } from '../checks/types.ts'
import { findCheck, type Service } from '../service.ts'
import { pathOfUri } from '../workspace/node-files.ts'
import { type Report, type Reporter, reaches, reporter, severityOrder } from './check-results.ts'
import {
  type AskedFile,
  allowOutsideOption,
  askedFiles,
  askedInput,
  loadFiles,
  type ReachOptions,
  serviceFor,
  shownPath,
} from './files.ts'
import { makeRunsInSight } from './follow-course.ts'
import { loadInput } from './input.ts'
import { type ExitCode, type Io, UnusableCall } from './io.ts'
import { askForCourses, readLogs } from './logs.ts'
import { checkJson } from './output/check-json.ts'
import { checkText } from './output/check-text.ts'
import { checkJUnit } from './output/junit.ts'
import { checkSarif } from './output/sarif.ts'
import { type AsIf, asIfLines, layStatements, standInOption } from './stand-ins.ts'

const examples = `
A severity is set as code=level, where the level is error, warning, information, hint or off.

Examples:
  detent check                                         every profile below this folder
  detent check bench.detent profiles/                  a file, and all below a folder
  detent check --fail-on warning                       exit 1 on warnings too
  detent check --with 'limits { current 190 A }' .     with another limit in every profile, written nowhere
  detent check --severity voltage-grid=off .           leave one check out
  detent check - < winter.detent                       standard input, as if it were in this folder
  detent check --output sarif . > findings.sarif       for code scanning
  detent check --output junit . > expectations.xml     one test case for each expectation
`

const outputs: Readonly<Record<string, (report: Report, io: Io) => string>> = {
  text: checkText,
  json: checkJson,
  sarif: checkSarif,
  junit: checkJUnit,
}

function withSeverity(argument: string, before: Severities): Severities {
  const [code = '', level = '', ...rest] = argument.split('=')
  if (rest.length > 0 || level === '') throw new InvalidArgumentError('Write it as code=level.')
  if (findCheck(code) === undefined) throw new InvalidArgumentError(`There is no check \`${code}\`.`)
  if (level !== 'off' && !(severityOrder as readonly string[]).includes(level)) {
    throw new InvalidArgumentError(`The level is one of ${severityOrder.join(', ')} and off.`)
  }
  return { ...before, [code]: level as Severity | 'off' }
}

/** What a call checks, loaded: files and folders, or standard input. */
async function opened(
  io: Io,
  paths: readonly string[],
  options: ReachOptions,
): Promise<{ readonly service: Service; readonly files: readonly AskedFile[] }> {
  if (!paths.includes('-')) {
    const asked = await askedFiles(io, paths, options)
    const service = serviceFor(asked, 'with runs')
    return { service, files: await loadFiles(io, service, asked) }
  }
  if (paths.length > 1) throw new UnusableCall('`-` means standard input and takes no other path with it')
  const service = serviceFor(askedInput(io, options), 'with runs')
  return { service, files: [await loadInput(io, service)] }
}

/** Reports files; what rests on a run over time is judged once the runs are made, and asking shows which are needed. */
function addAll(io: Io, service: Service, files: readonly AskedFile[], add: Reporter['add']): void {
  const waiting: AskedFile[] = []
  for (const file of files) {
    let waits = false
    for (const evaluation of service.evaluations(file.uri))
      if (service.expectations(evaluation).some(({ pending }) => pending === true)) waits = true
    if (waits) waiting.push(file)
    else add(file)
  }
  makeRunsInSight(io, service)
  waiting.forEach(add)
}

/** Forgets a file that nobody uses once it is reported: a folder may have thousands. What its runs show counts on. */
function letGo({ workspace }: Service, { uri }: AskedFile): void {
  const document = workspace.document(uri)
  if (document?.definitions.some(({ kind }) => kind === 'run') === false) workspace.forget([uri])
}

interface CheckOptions extends ReachOptions {
  readonly output: string
  readonly failOn: Severity
  readonly severity: Severities
  readonly with: AsIf
}

/** `detent check`: everything found in files and folders, and what their expectations come to. */
export function addCheck(program: Command, io: Io, finish: (code: ExitCode) => void): void {
  program
    .command('check')
    .description('Check profiles and judge their expectations.')
    .argument('[paths...]', 'files, or folders with all .detent files below them, or - (default: this folder)')
    .addOption(new Option('--output <format>', 'output format').choices(Object.keys(outputs)).default('text'))
    .addOption(
      new Option('--fail-on <level>', 'the lowest severity that makes the exit code 1')
        .choices(severityOrder)
        .default('error'),
    )
    .addOption(
      new Option('--severity <code=level>', 'the severity of one check; may be repeated')
        .argParser(withSeverity)
        .default({}, 'their own'),
    )
    .addOption(standInOption())
    .addOption(allowOutsideOption())
    .addHelpText('after', examples)
    .action(async (paths: string[], options: CheckOptions) => {
      const { service, files } = await opened(io, paths, options)
      layStatements(service, options.with, files)
      await readLogs(service, io, files)
      askForCourses(
        service,
        files.map(({ uri }) => uri),
      )
      makeRunsInSight(io, service)
      const shown = (uri: string): string => shownPath(io, pathOfUri(uri) ?? uri)
      const made = reporter(service, files, options.severity, shown, options.output === 'json')
      // What is found in a used file depends on who uses it, so those that others use come first.
      const isUsed = ({ uri }: AskedFile): boolean => service.workspace.usersOf(uri).length > 0
      addAll(io, service, files.filter(isUsed), made.add)
      addAll(
        io,
        service,
        files.filter(file => !isUsed(file)),
        file => {
          made.add(file)
          letGo(service, file)
        },
      )
      const report = made.report()
      if (options.output === 'text') for (const line of asIfLines(options.with)) io.out.write(`${line}\n`)
      io.out.write((outputs[options.output] ?? checkText)(report, io))
      finish(report.findings.some(finding => reaches(finding.severity, options.failOn)) ? 1 : 0)
    })
}
