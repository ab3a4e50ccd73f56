/** `detent draw`: one picture of a profile, or its figures. */
import { resolve } from 'node:path'
import { type Command, InvalidArgumentError, Option } from 'commander'
import {
  csvText,
  type Drawable,
  didYouMean,
  drawnCooling,
  drawnCourse,
  drawnLedger,
  drawnMap,
  drawnRun,
  drawnWholeCourse,
  loadsToDraw,
  nextTrials,
  type Picture,
  svgFile,
  type ViewOptions,
  whyNotDrawn,
  wording,
} from '../service.ts'
import { reasonOf } from '../workspace/node-files.ts'
import { writeWhole } from '../workspace/writer.ts'
import { durationS } from './duration.ts'
import { allowOutsideOption, type ReachOptions } from './files.ts'
import { courseInSight, makeRunsInSight } from './follow-course.ts'
import { inputsOf } from './inputs.ts'
import { type ExitCode, type Io, UnusableCall } from './io.ts'
import { askForCourses, readLogs } from './logs.ts'
import {
  evaluationOf,
  type Loaded,
  loadAsked,
  type NamedProfile,
  namesAndPaths,
  profileAtRevision,
  profileNamed,
} from './named-profiles.ts'
import { type AsIf, lay, standInOption } from './stand-ins.ts'

const examples = `
map      active cores across, die temperature up, the clock in each cell; loads are points
cooling  heat made and heat carried: where a load settles, and what ends its margin
course   a load from an idle bench (--load), a course (--course), or a run's log over its prediction (--run)
ledger   ratio across, voltage up: trials that held or stopped, what the part is taken to need, what it is given

Without --load map and cooling are drawn for full activity: every core at work, without vector work. Cooling and course
take the corner of the room with the least margin, unless --air or --humidity say another.
The file's ending says what is written: .svg the picture, .csv its figures with all their digits.

Examples:
  detent draw map winter --to map.svg                      the clock by cores and die temperature
  detent draw map winter --against winter@HEAD~1 --to m.svg  beside the profile as it was
  detent draw cooling winter --load render --to c.svg      where heat made meets heat carried
  detent draw course winter --load render --to course.csv  the figures of a course, for scripts
  detent draw course winter --course session > s.svg       a whole course, step by step
  detent draw course heavy-work --run heavy-render > r.svg  a run's log over its prediction
  detent draw ledger winter --to ledger.csv                what is known of the voltages, for scripts
`

interface DrawOptions extends ReachOptions {
  readonly load?: string
  readonly course?: string
  readonly run?: string
  readonly over?: number
  readonly air?: number
  readonly humidity?: number
  readonly against?: string
  readonly with: AsIf
  readonly to?: string
}

type Kind = 'map' | 'cooling' | 'course' | 'ledger'
const kinds: readonly Kind[] = ['map', 'cooling', 'course', 'ledger']

const sizes: Readonly<Record<Kind, ViewOptions['size']>> = {
  map: { width: 760, height: 480 },
  cooling: { width: 760, height: 480 },
  course: { width: 760, height: 640 },
  ledger: { width: 760, height: 480 },
}

/** A number with its unit or without. */
function figure(unit: string, least: number, most: number): (argument: string) => number {
  return argument => {
    const text = argument.trim()
    const digits = text.endsWith(unit) ? text.slice(0, -unit.length).trim() : text
    const value = Number(digits)
    if (digits === '' || !Number.isFinite(value) || value < least || value > most) {
      throw new InvalidArgumentError(`Write it as a number from ${least} to ${most}, with ${unit} or without.`)
    }
    return value
  }
}

function drawableOf(named: NamedProfile, asIf: AsIf): Drawable {
  return { workspace: named.service.workspace, evaluation: evaluationOf(named, asIf) }
}

async function profileAsked(loaded: Loaded, argument: string): Promise<NamedProfile> {
  const { profiles } = namesAndPaths(loaded.io, [argument], 1)
  const asked = profiles[0]
  if (asked === undefined) throw new UnusableCall(`${argument} is no name of a profile.`)
  return asked.revision === undefined
    ? profileNamed(loaded, asked.name)
    : profileAtRevision(loaded, asked.name, asked.revision)
}

function runPicture({ service, io, files }: Loaded, profile: string, name: string): Picture {
  const all = files.flatMap(({ uri }) => service.bench.compared(uri))
  const own = all.filter(({ record }) => record.profile === profile)
  const found = own.find(({ record }) => record.name === name)
  if (found === undefined) {
    const names = own.map(({ record }) => record.name)
    const meant = didYouMean(name, names)[0]
    const rest = names.length === 0 ? `${profile} has no run here` : `the runs of ${profile} are ${names.join(', ')}`
    throw new UnusableCall(
      `There is no run ${name} of ${profile}${meant === undefined ? `; ${rest}.` : `; did you mean ${meant}?`}`,
    )
  }
  askForCourses(
    service,
    files.map(({ uri }) => uri),
  )
  makeRunsInSight(io, service)
  const picture = drawnRun(service.workspace, found, sizes.course)
  if (picture === undefined) {
    const why =
      found.cannot ??
      (typeof found.courseLog === 'string' ? found.courseLog : undefined) ??
      (found.log?.state === 'read' ? 'its log has too few rows' : 'it has no log that can be read')
    throw new UnusableCall(`Run ${name} is not drawn: ${why}.`)
  }
  return picture
}

async function ledgerPicture({ service, io, files }: Loaded, label: string, drawn: Drawable): Promise<Picture> {
  await readLogs(service, io, files)
  const evidence = service.bench.evidence(drawn.evaluation.profile.part)
  const next = evidence && nextTrials(drawn.evaluation, evidence, 1, new Set())
  const made = drawnLedger([drawn], evidence, sizes.ledger, next?.proposals)
  if (made === undefined) throw new UnusableCall(`There is nothing to draw: the part of ${label} states no needs.`)
  return made
}

function coursePicture(io: Io, label: string, drawn: Drawable, name: string, asked: ViewOptions): Picture {
  const names = drawn.evaluation.profile.courses.map(one => one.name)
  if (!names.includes(name)) {
    const meant = didYouMean(name, names)[0]
    const rest = names.length === 0 ? `${label} sees none` : `${label} sees ${names.join(', ')}`
    throw new UnusableCall(
      `There is no course ${name}${meant === undefined ? `: ${rest}.` : `; did you mean ${meant}?`}`,
    )
  }
  const { tell, done } = courseInSight(io, label, name)
  try {
    const made = drawnWholeCourse(drawn, name, asked, tell)
    if (typeof made === 'string') throw new UnusableCall(`Course ${name} of ${label} is not drawn: ${made}.`)
    return made
  } finally {
    done()
  }
}

function checkLoad({ evaluation }: Drawable, load: string | undefined): void {
  const loads = loadsToDraw(evaluation)
  if (load === undefined || loads.includes(load)) return
  const meant = didYouMean(load, loads)[0]
  throw new UnusableCall(
    `There is no load ${load} here${meant === undefined ? `; there are ${loads.slice(1).join(', ')}.` : `; did you mean ${meant}?`}`,
  )
}

async function picture(kind: Kind, loaded: Loaded, name: string, options: DrawOptions): Promise<Picture> {
  const { load, course, run, over, air, humidity, against } = options
  const named = await profileAsked(loaded, name)
  if (run !== undefined) {
    await readLogs(loaded.service, loaded.io, loaded.files)
    return runPicture(loaded, named.name, run)
  }
  const other = against === undefined ? undefined : await profileAsked(loaded, against)
  const now = [named, other].filter(one => one !== undefined && one.commit === undefined) as NamedProfile[]
  if (now.length > 0) {
    lay(
      loaded.service.workspace,
      options.with,
      now.map(({ uri }) => uri),
      now.map(({ name }) => name),
    )
  }
  const drawn = drawableOf(named, options.with)
  const obstacle = wording.obstacleText(drawn.evaluation)
  if (obstacle !== undefined) throw new UnusableCall(`Profile ${named.label} is not predicted: ${obstacle}.`)
  if (kind === 'ledger') return ledgerPicture(loaded, named.label, drawn)
  checkLoad(drawn, load)
  const whatIf = { airC: air, humidityPct: humidity }
  const asked: ViewOptions = {
    size: sizes[kind],
    load,
    whatIf,
    against: other && { ...drawableOf(other, options.with), label: other.label },
    overS: over,
  }
  if (course !== undefined) return coursePicture(loaded.io, named.label, drawn, course, asked)
  const made =
    kind === 'map'
      ? drawnMap(drawn, asked)
      : kind === 'cooling'
        ? drawnCooling(drawn, asked)
        : drawnCourse(drawn, asked)
  if (made === undefined)
    throw new UnusableCall(
      `There is nothing to draw of ${named.label} under ${load ?? 'full activity'}: ${whyNotDrawn(drawn.evaluation, load)}.`,
    )
  return made
}

/** What does not go together. */
function checkCall(kind: Kind, { load, course, run, over, air, humidity, against, to }: DrawOptions): void {
  if (kind === 'course' && [load, course, run].filter(one => one !== undefined).length !== 1)
    throw new UnusableCall('course takes one of --load, --course and --run.')
  if (kind === 'ledger' && (load !== undefined || air !== undefined || humidity !== undefined))
    throw new UnusableCall('ledger takes neither --load nor --air or --humidity: trials were made as they were.')
  if (kind !== 'course' && run !== undefined) throw new UnusableCall('--run is for course.')
  if (kind !== 'course' && course !== undefined) throw new UnusableCall('--course is for the chart of that name.')
  if ((kind !== 'course' || load === undefined) && over !== undefined)
    throw new UnusableCall('--over is for course with --load.')
  if (kind !== 'map' && against !== undefined) throw new UnusableCall('--against is for map.')
  if (to !== undefined && !/\.(?:svg|csv)$/i.test(to))
    throw new UnusableCall(`${to}: the file must end in .svg or .csv.`)
}

/** `detent draw`: one picture of a profile, or its figures. */
export function addDraw(program: Command, io: Io, finish: (code: ExitCode) => void): void {
  program
    .command('draw')
    .description('Draw a profile: operating map, cooling chart, course over time or ledger of voltages, as SVG or CSV.')
    .addArgument(program.createArgument('<chart>', 'what to draw').choices(kinds))
    .argument('<profile>', 'the name of the profile, or NAME@REVISION')
    .argument('[paths...]', 'files, or folders with all .detent files below them (default: this folder)')
    .option('--load <name>', 'the load to draw (default for map and cooling: full activity)')
    .option('--course <name>', 'with course: a course that the profile sees, in the corner where it goes worst')
    .option('--run <name>', 'with course: a run of the profile, its log over the prediction')
    .addOption(
      new Option('--over <time>', 'with course: how long the load is followed (default: 15min)').argParser(durationS),
    )
    .addOption(new Option('--air <°C>', 'as if the air had this temperature').argParser(figure('°C', -60, 80)))
    .addOption(new Option('--humidity <%>', 'as if the air had this humidity').argParser(figure('%', 1, 100)))
    .option('--against <name>', 'with map: another profile, or NAME@REVISION, whose edges are drawn as thin lines')
    .addOption(standInOption())
    .option('--to <file>', 'the file to write, .svg or .csv; without it the picture goes to standard output')
    .addOption(allowOutsideOption())
    .addHelpText('after', examples)
    .action(async (kind: Kind, name: string, paths: string[], options: DrawOptions) => {
      checkCall(kind, options)
      const loaded = await loadAsked(io, paths, options, 'with runs')
      const made = await picture(kind, loaded, name, options)
      const { to } = options
      if (to === undefined) io.out.write(svgFile(made))
      else {
        const text = /\.csv$/i.test(to) ? csvText(made.figures) : svgFile(made)
        try {
          await writeWhole(resolve(io.folder, to), text, { inputs: inputsOf(loaded.service) })
        } catch (error) {
          throw new UnusableCall(`${to}: not written: ${reasonOf(error)}`)
        }
        io.err.write(`${to} written: ${made.title}\n`)
      }
      finish(0)
    })
}
