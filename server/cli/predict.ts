/** `detent predict`. */

import { type Command, Option } from 'commander'
import type { Evaluation } from '../semantic/evaluate.ts'
import {
  allFiguresOf,
  allWithIntervals,
  didYouMean,
  finished,
  perInSlices,
  perWords,
  type Service,
  seriesOf,
  shownPlace,
  wording,
  worstPredictions,
} from '../service.ts'
import { durationS } from './duration.ts'
import { type AskedFile, allowOutsideOption, type ReachOptions } from './files.ts'
import { followedInSight, makeRunsInSight } from './follow-course.ts'
import { control, type ExitCode, type Io, UnusableCall } from './io.ts'
import { askForCourses, readLogs } from './logs.ts'
import {
  type AskedProfile,
  evaluationOf,
  type Loaded,
  layOverAsked,
  loadAsked,
  namesAndPaths,
  profileAtRevision,
  profileNamed,
} from './named-profiles.ts'
import { coursesJson, coursesText, type PlacedCourse } from './output/course-output.ts'
import { type PlacedPer, perJson, perText } from './output/per-output.ts'
import { predictJson } from './output/predict-json.ts'
import { type PredictShow, predictText } from './output/predict-text.ts'
import type { PredictedProfile, TimedProfile } from './output/predicted.ts'
import { runsJson, runsText } from './output/runs-output.ts'
import { seriesJson, seriesText } from './output/series-text.ts'
import { type AsIf, asIfLines, standInOption } from './stand-ins.ts'
import { unreadLines } from './unread-lines.ts'

const examples = `
Profile names come first, then files and folders; NAME@REVISION is the profile as it was in git. The text shows each load
in its worst corner of the room; --all and JSON have every corner and core count. A profile that cannot be predicted is
named on the error output with what it lacks, and the exit code is 1.

A run is compared with what its log settles at, which the model works out from the warm-up where the log ends too soon:
a short log has a wider ±, and the output says how many more minutes would halve it.

Examples:
  detent predict                                       every profile below this folder
  detent predict winter.detent                         a table for each profile of a file
  detent predict winter summer bench/                  two profiles by name
  detent predict --all winter                          every corner and core count
  detent predict --output json . > predictions.json    all figures, unrounded, for scripts
  detent predict --with cooler=big-loop winter.detent  the same profiles on another cooler
  detent predict --with 'room study { air 29 °C }'     the same in a warmer room, written nowhere
  detent predict --uncertainty winter.detent           95 % intervals too, from ± and usual values
  detent predict --over 15min winter.detent            from idle: what ratio is given back, and when
  detent predict --course session winter               a whole session, step by step
  detent predict --per winter                          what a small change of each setting or constant would do
  detent predict --runs runs.detent                    measured beside predicted, run by run
`

const outputs: Readonly<Record<string, (profiles: readonly PredictedProfile[], io: Io, show: PredictShow) => string>> =
  {
    text: predictText,
    json: predictJson,
  }

const timedOutputs: Readonly<Record<string, (profiles: readonly TimedProfile[], io: Io) => string>> = {
  text: seriesText,
  json: seriesJson,
}

interface PredictOptions extends ReachOptions {
  readonly output: string
  readonly with: AsIf
  readonly over?: number
  readonly every?: number
  readonly runs?: true
  readonly per?: true
  readonly course?: string
  readonly uncertainty?: true
  readonly all?: true
}

/** A profile that was evaluated, and where it stands. */
interface Placed {
  readonly file: string
  readonly line: number
  readonly name: string
  readonly evaluation: Evaluation
  readonly unread: string | undefined
}

function placedIn(
  service: Service,
  io: Io,
  uri: string,
  file: string,
  evaluation: Evaluation,
): Placed & { at: number } {
  const { definition } = evaluation.profile
  const document = service.workspace.document(uri)
  const at = (document?.starts.get(definition.chunk) ?? 0) + definition.nameSpan.start
  const line = document === undefined ? 1 : shownPlace(document, at).line
  return { file, line, name: definition.name, evaluation, unread: unreadLines(service, io, uri, evaluation), at }
}

/** The profiles of all files, in the order in which they stand there. */
function allPlaced({ service, io, files }: Loaded, { names }: AsIf): Placed[] {
  return files.flatMap(({ uri, shown }: AskedFile) => {
    const found = Object.keys(names).length === 0 ? service.evaluations(uri) : service.evaluationsWith(uri, names)
    if ('unknown' in found) {
      // A file without profiles need not see the name.
      if (service.evaluations(uri).length === 0) return []
      throw new UnusableCall(`There is no ${found.unknown} in ${shown} or the files it uses.`)
    }
    return found.map(evaluation => placedIn(service, io, uri, shown, evaluation)).sort((a, b) => a.at - b.at)
  })
}

/** The profiles that were named, in the order of the call. */
async function namedPlaced(loaded: Loaded, asked: readonly AskedProfile[], asIf: AsIf): Promise<Placed[]> {
  const placed: Placed[] = []
  for (const { name, revision } of asked) {
    const named = revision === undefined ? profileNamed(loaded, name) : await profileAtRevision(loaded, name, revision)
    const evaluation = evaluationOf(named, asIf)
    placed.push({ ...placedIn(named.service, loaded.io, named.uri, named.file, evaluation), name: named.label })
  }
  return placed
}

/** JSON is sorted by file and name, whatever the order of the call. */
function inNameOrder(profiles: readonly Placed[]): Placed[] {
  return profiles.toSorted((a, b) => compareText(a.file, b.file) || compareText(a.name, b.name))
}

/** The runs of a profile; a person at the terminal sees how far they are. */
function timed(
  io: Io,
  { file, line, name, evaluation, unread }: Placed,
  overS: number,
  everyS: number | undefined,
  which: 'all' | 'worst',
): TimedProfile {
  const predictions = which === 'all' ? evaluation.predictions : worstPredictions(evaluation)
  const options = everyS === undefined ? { overS } : { overS, everyS }
  const series = predictions.flatMap((prediction, index) => {
    if (io.err.isTerminal) io.err.write(`${control('\r')}${name}: run ${index + 1} of ${predictions.length} `)
    return seriesOf(evaluation, prediction, options) ?? []
  })
  if (io.err.isTerminal) io.err.write(control('\r\u001b[K'))
  return { file, line, name, series, unread }
}

/** The course of this name on each of these profiles whose files have it. Errors: `UnusableCall` where none has. */
function coursesOf(
  { service, io }: Loaded,
  profiles: readonly Placed[],
  name: string,
  everyS: number | undefined,
): readonly PlacedCourse[] {
  const { workspace } = service
  const seen = profiles.flatMap(one => {
    const definition = one.evaluation.profile.courses.find(each => each.name === name)
    return definition === undefined ? [] : [{ ...one, definition }]
  })
  if (seen.length === 0) {
    const names = [...new Set(profiles.flatMap(one => one.evaluation.profile.courses.map(each => each.name)))]
    const meant = didYouMean(name, names)[0]
    const there =
      names.length === 0 ? 'none is defined' : `there ${names.length === 1 ? 'is' : 'are'} ${names.join(', ')}`
    const hint = meant === undefined ? there : `did you mean ${meant}?`
    throw new UnusableCall(`There is no course ${name} that these profiles see: ${hint}`)
  }
  return seen.map(({ definition, ...one }) => {
    const followed = followedInSight(io, one.name, one.evaluation, definition, everyS)
    const document = [...workspace.documents()].find(each => each.definitions.includes(definition))
    const start = document?.starts.get(definition.chunk) ?? 0
    return {
      ...one,
      followed,
      lineOf: offset => (document === undefined ? 1 : shownPlace(document, start + offset).line),
    }
  })
}

/** Refuses the first of other options that are given and say nothing beside one. */
function refuseBeside(option: string, options: PredictOptions, others: readonly (keyof PredictOptions)[]): void {
  const other = others.find(one => options[one] !== undefined)
  if (other !== undefined) throw new UnusableCall(`${option} and --${other} cannot be combined.`)
}

/** What small changes would do to each load of these profiles. */
function perOf(profiles: readonly Placed[], io: Io): { readonly text: () => string; readonly json: () => string } {
  const found: readonly PlacedPer[] = profiles.map(one => ({ ...one, ...finished(perInSlices(one.evaluation)) }))
  const next = perWords.measureNext(found.flatMap(({ shares }) => shares))
  return { text: () => perText(found, next, io), json: () => perJson(found, next) }
}

/** `detent predict`: what every load settles at, for every profile of files and folders. */
export function addPredict(program: Command, io: Io, finish: (code: ExitCode) => void): void {
  program
    .command('predict')
    .description('Predict clock, voltage, power and temperatures of every load.')
    .argument('[profiles-and-paths...]', 'profiles (default: all), then files or folders (default: this folder)')
    .addOption(new Option('--output <format>', 'output format').choices(Object.keys(outputs)).default('text'))
    .addOption(standInOption())
    .addOption(new Option('--over <time>', 'follow each load from idle for this long').argParser(durationS))
    .addOption(new Option('--every <time>', 'with --over or --course: the time between values').argParser(durationS))
    .option('--course <name>', 'follow a course from its start: loads, faults and what comes of them')
    .option('--uncertainty', 'also 95 % intervals, from ± and usual values; JSON always has them')
    .option('--all', 'every corner of the room and every core count, not only the worst')
    .option('--per', 'what a small change of each setting or constant would do, and what to measure next')
    .option('--runs', 'what the runs measured beside what is predicted for them')
    .addOption(allowOutsideOption())
    .addHelpText('after', examples)
    .action(async (args: string[], options: PredictOptions) => {
      if (options.runs === true && options.over !== undefined)
        throw new UnusableCall('--runs and --over cannot be combined.')
      if (options.uncertainty === true && (options.runs === true || options.over !== undefined))
        throw new UnusableCall('--uncertainty cannot be combined with --runs or --over.')
      if (options.course !== undefined) refuseBeside('--course', options, ['runs', 'over', 'per', 'uncertainty'])
      if (options.per === true) refuseBeside('--per', options, ['runs', 'over', 'uncertainty', 'all'])
      if (options.every !== undefined && options.over === undefined && options.course === undefined)
        throw new UnusableCall('--every needs --over or --course.')
      const { profiles: asked, paths } = namesAndPaths(io, args, 0)
      const loaded = await loadAsked(io, paths, options, 'with runs')
      const { service, files } = loaded
      if (options.runs === true && options.with.overlays.length > 0)
        throw new UnusableCall('--runs takes no statements of --with: a run was made with the settings that it names.')
      layOverAsked(loaded, options.with, asked)
      if (options.runs === true) {
        await readLogs(service, io, files)
        const names = new Set(
          asked.map(({ name, revision }) => {
            if (revision !== undefined)
              throw new UnusableCall('--runs takes profiles as they are: a run names its own revision.')
            return profileNamed(loaded, name).name
          }),
        )
        const runs = files
          .flatMap(({ uri, shown }) => service.bench.compared(uri).map(run => ({ file: shown, run })))
          .filter(({ run }) => names.size === 0 || names.has(run.record.profile))
        // A run under a course is compared with the course as it was logged, which is followed first.
        askForCourses(
          service,
          files.map(({ uri }) => uri),
        )
        makeRunsInSight(io, service)
        io.out.write(options.output === 'json' ? runsJson(runs) : runsText(runs, io))
        finish(0)
        return
      }
      const inOrder =
        asked.length === 0 ? allPlaced(loaded, options.with) : await namedPlaced(loaded, asked, options.with)
      const profiles = options.output === 'json' ? inNameOrder(inOrder) : inOrder
      if (options.output === 'text') for (const line of asIfLines(options.with)) io.out.write(`${line}\n`)
      let stuck: readonly string[] = []
      if (options.course !== undefined) {
        const predicted = profiles.filter(({ evaluation }) => evaluation.input.bench !== undefined)
        const courses = coursesOf(
          loaded,
          profiles.length > 0 && predicted.length === 0 ? profiles : predicted,
          options.course,
          options.every,
        )
        const isAll = options.all === true
        const write =
          options.output === 'json'
            ? coursesJson(courses, options.every !== undefined)
            : coursesText(courses, io, isAll)
        io.out.write(write)
        stuck = courses.flatMap(({ file, line, name, followed }) =>
          followed.undecided === undefined || followed.evaluation.input.bench === undefined
            ? []
            : [
                `${file}:${line}: course ${options.course} of profile ${name} is not followed: ${followed.undecided}.\n`,
              ],
        )
      } else if (options.per === true) {
        const { text, json } = perOf(profiles, io)
        io.out.write(options.output === 'json' ? json() : text())
      } else if (options.over === undefined) {
        const figuresFor = options.uncertainty === true || options.output === 'json' ? allWithIntervals : allFiguresOf
        const rows = profiles.map(one => ({ ...one, rows: figuresFor(one.evaluation) }))
        io.out.write(
          (outputs[options.output] ?? predictText)(rows, io, {
            all: options.all === true,
            intervals: options.uncertainty === true,
          }),
        )
      } else {
        const { over, every } = options
        const which = options.output === 'json' || options.all === true ? 'all' : 'worst'
        const runs = profiles.map(one => timed(io, one, over, every, which))
        io.out.write((timedOutputs[options.output] ?? seriesText)(runs, io))
      }
      const obstacles = profiles.flatMap(({ file, line, name, evaluation }) => {
        const why = wording.obstacleText(evaluation)
        return why === undefined ? [] : `${file}:${line}: profile ${name} is not predicted: ${why}.\n`
      })
      for (const obstacle of [...obstacles, ...stuck]) io.err.write(obstacle)
      finish(obstacles.length + stuck.length > 0 ? 1 : 0)
    })
}

const compareText = (a: string, b: string): number => (a < b ? -1 : a > b ? 1 : 0)
