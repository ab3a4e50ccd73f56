import { type Command, InvalidArgumentError, Option } from 'commander'
import type { Severities } from '../checks/run.ts'
import type { Severity } from '../checks/types.ts'
import { createService, findCheck, type Service } from '../service.ts'
import { revisionAround } from '../workspace/git.ts'
import { nodeFiles, nodeLogs, pathOfUri } from '../workspace/node-files.ts'
import { type Report, reaches, reportOf, severityOrder } from './check-results.ts'
import { type AskedFile, askedFiles, loadFiles, shownPath } from './files.ts'
import { loadInput } from './input.ts'
import { type ExitCode, type Io, UnusableCall } from './io.ts'
import { readLogs } from './logs.ts'
import { checkJson } from './output/check-json.ts'
import { checkText } from './output/check-text.ts'
import { checkJUnit } from './output/junit.ts'
import { checkSarif } from './output/sarif.ts'

const examples = `
Settings of severities are code=level, the level one of error, warning, information, hint and off.

Examples:
  detent check                                         every profile below this folder
  detent check bench.detent profiles/                  a file, and all below a folder
  detent check --fail-on warning                       exit 1 from warnings on
  detent check --severity voltage-grid=off .           leave one check out
  detent check - < winter.detent                       standard input, as if it stood in this folder
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

/** What is to be checked, loaded: files and folders, or standard input. */
async function filesOf(io: Io, service: Service, paths: readonly string[]): Promise<readonly AskedFile[]> {
  if (!paths.includes('-')) return await loadFiles(io, service, await askedFiles(io, paths))
  if (paths.length > 1) throw new UnusableCall('`-` stands for standard input and takes no other path beside it')
  return [await loadInput(io, service)]
}

interface CheckOptions {
  readonly output: string
  readonly failOn: Severity
  readonly severity: Severities
}

/** `detent check`: everything found in files and folders, and what their expectations come to. */
export function addCheck(program: Command, io: Io, finish: (code: ExitCode) => void): void {
  program
    .command('check')
    .description('Check profiles and judge their expectations.')
    .argument('[paths...]', 'files, or folders with all .detent files below them, or - (default: this folder)')
    .addOption(new Option('--output <format>', 'how to print').choices(Object.keys(outputs)).default('text'))
    .addOption(
      new Option('--fail-on <level>', 'the severity from which on the exit code is 1')
        .choices(severityOrder)
        .default('error'),
    )
    .addOption(
      new Option('--severity <code=level>', 'the severity of one check; may be repeated')
        .argParser(withSeverity)
        .default({}, 'their own'),
    )
    .addHelpText('after', examples)
    .action(async (paths: string[], options: CheckOptions) => {
      const service = createService(nodeFiles, nodeLogs, undefined, revisionAround)
      const files = await filesOf(io, service, paths)
      await readLogs(service, io, files)
      // What rests on a run over time is judged once the runs are made; asking shows which are needed.
      for (const { uri } of files) for (const evaluation of service.evaluations(uri)) service.expectations(evaluation)
      service.runs.makeAll()
      const report = reportOf(service, files, options.severity, uri => shownPath(io, pathOfUri(uri) ?? uri))
      io.out.write((outputs[options.output] ?? checkText)(report, io))
      finish(report.findings.some(finding => reaches(finding.severity, options.failOn)) ? 1 : 0)
    })
}
