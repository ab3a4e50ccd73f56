import { type Command, Option } from 'commander'
import type { Evaluation } from '../semantic/evaluate.ts'
import {
  allFiguresOf,
  allWithIntervals,
  createService,
  type Service,
  type StandInNames,
  seriesOf,
  wording,
} from '../service.ts'
import { revisionAround } from '../workspace/git.ts'
import { nodeFiles, nodeLogs } from '../workspace/node-files.ts'
import { durationS } from './duration.ts'
import { type AskedFile, askedFiles, loadFiles } from './files.ts'
import { type ExitCode, type Io, UnusableCall } from './io.ts'
import { linesOf } from './lines.ts'
import { readLogs } from './logs.ts'
import { predictJson } from './output/predict-json.ts'
import { predictText } from './output/predict-text.ts'
import type { PredictedProfile, TimedProfile } from './output/predicted.ts'
import { runsJson, runsText } from './output/runs-output.ts'
import { seriesJson, seriesText } from './output/series-text.ts'
import { standInOption } from './stand-ins.ts'
import { unreadLines } from './unread-lines.ts'

const examples = `
The figures are what each load settles at in every corner of the room. A profile that cannot be predicted is named on
the error output with what it lacks, and the exit code is 1.

Runs are held against the means of the longest steady stretch of their log: at least as long as the bench's slowest time
constant, over which no more than half a kelvin and half a percent of the power remain to be settled. Its first two time
constants are left out, as far as a whole one stays.

Examples:
  detent predict                                       every profile below this folder
  detent predict winter.detent                         a table for each profile of a file
  detent predict --output json . > predictions.json    all figures, unrounded, for scripts
  detent predict --with cooler=big-loop winter.detent  the same profiles on another cooler
  detent predict --uncertainty winter.detent           95 % intervals too, where constants carry ±
  detent predict --over 15min winter.detent            from idle on: what is given back, and when
  detent predict --runs runs.detent                    measured beside predicted, run by run
`

const outputs: Readonly<
  Record<string, (profiles: readonly PredictedProfile[], io: Io, withIntervals: boolean) => string>
> = {
  text: predictText,
  json: predictJson,
}

const timedOutputs: Readonly<Record<string, (profiles: readonly TimedProfile[], io: Io) => string>> = {
  text: seriesText,
  json: seriesJson,
}

interface PredictOptions {
  readonly output: string
  readonly with: StandInNames
  readonly over?: number
  readonly every?: number
  readonly runs?: true
  readonly uncertainty?: true
}

/** A profile that was evaluated, and where it stands. */
interface Placed {
  readonly file: string
  readonly line: number
  readonly name: string
  readonly evaluation: Evaluation
  readonly unread: string | undefined
}

/** The profiles of all files, sorted by file and name. */
function placedProfiles(service: Service, io: Io, files: readonly AskedFile[], standIns: StandInNames): Placed[] {
  const placed = files.flatMap(({ uri, shown }) => {
    const document = service.workspace.document(uri)
    if (document === undefined) return []
    const lines = linesOf(document.source.text)
    const found = Object.keys(standIns).length === 0 ? service.evaluations(uri) : service.evaluationsWith(uri, standIns)
    if ('unknown' in found) {
      // A file without profiles need not see the name.
      if (service.evaluations(uri).length === 0) return []
      throw new UnusableCall(`${shown} sees no ${found.unknown}.`)
    }
    return found.map(evaluation => {
      const { definition } = evaluation.profile
      const { line } = lines.at((document.starts.get(definition.chunk) ?? 0) + definition.nameSpan.start)
      const unread = unreadLines(service, io, uri, evaluation)
      return { file: shown, line, name: definition.name, evaluation, unread }
    })
  })
  return placed.sort((a, b) => compareText(a.file, b.file) || compareText(a.name, b.name))
}

/** The runs of a profile; a person at the terminal sees how far they are. */
function timed(
  io: Io,
  { file, line, name, evaluation, unread }: Placed,
  overS: number,
  everyS: number | undefined,
): TimedProfile {
  const { predictions } = evaluation
  const options = everyS === undefined ? { overS } : { overS, everyS }
  const series = predictions.flatMap((prediction, index) => {
    if (io.err.isTerminal) io.err.write(`\r${name}: run ${index + 1} of ${predictions.length} `)
    return seriesOf(evaluation, prediction, options) ?? []
  })
  if (io.err.isTerminal) io.err.write('\r\u001b[K')
  return { file, line, name, series, unread }
}

/** `detent predict`: what every load settles at, for every profile of files and folders. */
export function addPredict(program: Command, io: Io, finish: (code: ExitCode) => void): void {
  program
    .command('predict')
    .description('Predict clock, voltage, power and temperatures of every load.')
    .argument('[paths...]', 'files, or folders with all .detent files below them (default: this folder)')
    .addOption(new Option('--output <format>', 'how to print').choices(Object.keys(outputs)).default('text'))
    .addOption(standInOption())
    .addOption(new Option('--over <time>', 'each load from idle on, over this time').argParser(durationS))
    .addOption(new Option('--every <time>', 'with --over: the distance of the values').argParser(durationS))
    .option('--uncertainty', '95 % intervals as well, by the constants with ±; JSON always has them')
    .option('--runs', 'what the runs measured, beside what is predicted for them')
    .addHelpText('after', examples)
    .action(async (paths: string[], options: PredictOptions) => {
      if (options.runs === true && options.over !== undefined)
        throw new UnusableCall('--runs and --over do not go together.')
      if (options.uncertainty === true && (options.runs === true || options.over !== undefined))
        throw new UnusableCall('--uncertainty goes neither with --runs nor with --over.')
      if (options.every !== undefined && options.over === undefined) throw new UnusableCall('--every goes with --over.')
      const asked = await askedFiles(io, paths)
      const service = createService(nodeFiles, nodeLogs, undefined, revisionAround)
      const files = await loadFiles(io, service, asked)
      if (options.runs === true) {
        await readLogs(service, io, files)
        const runs = files.flatMap(({ uri, shown }) => service.bench.compared(uri).map(run => ({ file: shown, run })))
        io.out.write(options.output === 'json' ? runsJson(runs) : runsText(runs, io))
        finish(0)
        return
      }
      const profiles = placedProfiles(service, io, files, options.with)
      if (options.over === undefined) {
        const figuresFor = options.uncertainty === true || options.output === 'json' ? allWithIntervals : allFiguresOf
        const rows = profiles.map(one => ({ ...one, rows: figuresFor(one.evaluation) }))
        io.out.write((outputs[options.output] ?? predictText)(rows, io, options.uncertainty === true))
      } else {
        const { over, every } = options
        const runs = profiles.map(one => timed(io, one, over, every))
        io.out.write((timedOutputs[options.output] ?? seriesText)(runs, io))
      }
      const obstacles = profiles.flatMap(({ file, line, name, evaluation }) => {
        const why = wording.obstacleText(evaluation)
        return why === undefined ? [] : `${file}:${line}: profile ${name} is not predicted: ${why}.\n`
      })
      for (const obstacle of obstacles) io.err.write(obstacle)
      finish(obstacles.length > 0 ? 1 : 0)
    })
}

const compareText = (a: string, b: string): number => (a < b ? -1 : a > b ? 1 : 0)
