/** What a report says of a bench: settings, predictions, courses, runs, and how each figure was obtained. */

import type { Picture } from '../../charts/picture.ts'
import { isWork } from '../../model/index.ts'
import { runsCold } from '../../semantic/coolers/index.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import type { Expectation } from '../../semantic/expectations.ts'
import type { Prediction } from '../../semantic/predict.ts'
import { probabilityInSlices, probabilityOf } from '../../semantic/probability.ts'
import { listed } from '../../wording/counts.ts'
import { column, percentText, predictedIn, rangeText } from '../../wording/figures.ts'
import { busyText, cornerText, cornerWords } from '../../wording/places.ts'
import { durationText } from '../../wording/times.ts'
import type { Comparison } from '../compare/types.ts'
import { decidedBy, intervalSource, intervalsInSlices, type Range } from '../intervals.ts'
import { allFiguresOf, figuresOf, type PredictionFigures } from '../prediction-figures.ts'
import { type Series, seriesOf } from '../series.ts'
import { type Drawable, drawnCooling, drawnSeries } from '../views/index.ts'
import { benchBlocks } from './bench.ts'
import { type Block, behind, heading, table, text } from './blocks.ts'
import { baselineBlocks } from './comparison.ts'
import { evidenceBlocks } from './evidence.ts'
import { frontBlocks, leastMargin } from './front.ts'
import { groupsText, ownCell } from './groups.ts'
import { overviewBlocks, type Summarized } from './overview.ts'
import { runBlocks } from './runs.ts'
import type { Making, ReportFile, ReportSource } from './source.ts'

const cautions: readonly string[] = [
  "These are predictions of a simple model with the constants of this bench, not promises. The maker's limits come before every figure here.",
  'Voltage above what the maker allows ages or kills the part.',
  'A plate below the dew point drips onto the board, most of all at idle; below 0 °C it frosts.',
  'Supplies for thermoelectric plates are mains-powered, and chillers hold cold coolant or refrigerant under pressure: local codes and licensed practice apply.',
]

const predictionHead = [
  'load',
  'cores',
  'air, humidity',
  'MHz',
  'V',
  'W',
  'A',
  'die °C',
  'plate °C',
  'limiter',
  'state',
  'margin W',
]

const intervalHead = ['load', 'cores', 'air, humidity', 'MHz', 'W', 'die °C', 'plate °C', 'margin W', 'by']

/** What `±` on the constants makes of the figures, a few milliseconds at a time; nothing where none carries any. */
function* intervalBlocks(evaluation: Evaluation): Making {
  const rows: string[][] = []
  for (const prediction of evaluation.predictions) {
    const found = yield* intervalsInSlices(evaluation, prediction)
    if (found === undefined) return []
    const { power_w, die_c, plate_c, margin_w } = found.interval
    const clocks = (isWork(prediction.load.load) ? found.interval.groups : undefined) ?? [found.interval]
    const range = (ends: Range | null, decimals: number): string => rangeText(ends, value => column(value, decimals))
    rows.push([
      ...predictionRow(figuresOf(evaluation, prediction)).slice(0, 3),
      clocks.map(({ clock_mhz }) => range(clock_mhz, 0)).join(' / '),
      range(power_w, 1),
      range(die_c, 1),
      range(plate_c, 1),
      range(margin_w, 0),
      decidedBy(found),
    ])
  }
  if (rows.length === 0) return []
  return [behind(`95 % intervals from ${intervalSource(evaluation)}`, [table(intervalHead, rows)])]
}

const plateHead = ['drive A', 'drive W', 'fan %', 'dew or frost °C']

function plateCells({ drive_a, drive_w, fan_pct, wet_c }: PredictionFigures): string[] {
  return [column(drive_a, 2), column(drive_w, 1), column(fan_pct, 0), column(wet_c, 1)]
}

/** What a load settles at: a row for each count and corner. */
function predictionTable({ input }: Evaluation, rows: readonly PredictionFigures[]): Block {
  if (!runsCold(input.bench?.cooler)) {
    // A chiller has no fan.
    if (rows.every(({ fan_pct }) => fan_pct === null)) return table(predictionHead, rows.map(predictionRow))
    return table(
      [...predictionHead, 'fan %'],
      rows.map(row => [...predictionRow(row), column(row.fan_pct, 0)]),
    )
  }
  return table(
    [...predictionHead, ...plateHead],
    rows.map(row => [...predictionRow(row), ...plateCells(row)]),
  )
}

function predictionRow(row: PredictionFigures): string[] {
  return [
    row.load,
    ownCell(row, ({ cores }) => String(cores)),
    cornerText({ airC: row.air_c, humidityPct: row.humidity_pct }),
    ownCell(row, ({ clock_mhz }) => column(clock_mhz, 0)),
    ownCell(row, ({ voltage_v }) => column(voltage_v, 3)),
    column(row.power_w, 1),
    ownCell(row, ({ current_a }) => column(current_a, 1)),
    column(row.die_c, 1),
    column(row.plate_c, 1),
    row.limiter,
    row.state,
    column(row.margin_w, 0),
  ]
}

/** How long a course is followed, and how finely it is drawn. */
const courseS = 15 * 60
const courseEveryS = 5
const mostCourses = 4
const over = 'detent predict --over 15min'

/** Of every working load: at its highest core count, in the warmest and most humid corner. */
function courses(evaluation: Evaluation): readonly Prediction[] {
  const corner = evaluation.input.corners.at(-1)
  const chosen = new Map<string, Prediction>()
  for (const prediction of evaluation.predictions) {
    const { load } = prediction.load
    if (!isWork(load) || corner === undefined) continue
    if (prediction.corner.airC === corner.airC && prediction.corner.humidityPct === corner.humidityPct)
      chosen.set(prediction.load.name, prediction)
  }
  return [...chosen.values()]
}

/** How large pictures of a page are, in its own pixels: two stand side by side. */
const half = { width: 460, height: 340 }
const tall = { width: 460, height: 420 }

/** A clock that moves by less than this from beginning to end is one figure, not a chart. */
const flatMhz = 1

/** A load over time: a picture with its figures and its events, or a line where nothing happens. */
interface CourseTold {
  readonly picture: Picture | undefined
  readonly said: string
  readonly figures: Block | undefined
}

/** The clocks of a load over time: of each group of cores at work, named, or the one where all cores are alike. */
function clocksOf({ groups, clock_mhz }: Series): readonly { readonly name: string; readonly clocks: Clocks }[] {
  if (groups === undefined) return [{ name: '', clocks: clock_mhz }]
  return groups.flatMap(({ group, cores, clock_mhz: clocks }) => (cores === 0 ? [] : [{ name: ` ${group}`, clocks }]))
}

type Clocks = readonly (number | null)[]

const isFlat = (clocks: Clocks): boolean => {
  const known = clocks.filter(clock => clock !== null)
  return Math.max(...known) - Math.min(...known) < flatMhz
}

function courseTold(drawn: Drawable, prediction: Prediction, series: Series, id: string): CourseTold {
  const { t_s: timeS, die_c, plate_c, coolant_c, power_w, events } = series
  const busy = busyText(series.cores, series.groups)
  const title = `${series.load} on ${busy} ${cornerWords(prediction.corner)}, from an idle bench`
  const clocked = clocksOf(series)
  if (events.length === 0 && clocked.every(({ clocks }) => isFlat(clocks))) {
    const last = (values: Clocks, decimals: number): string => column(values.at(-1) ?? null, decimals)
    const told = clocked.map(({ name, clocks }) => `${name === '' ? '' : `${name.trim()} `}${last(clocks, 0)} MHz`)
    const said = `${title}: ${listed(told)} throughout, after ${courseS / 60} min ${last(power_w, 1)} W, die ${last(die_c, 1)} °C.`
    return { picture: undefined, said, figures: undefined }
  }
  const happened = events
    .map(({ t_s, what }) => `after ${durationText(t_s)} ${what.replace(/: (.+)$/, ' ($1)')}`)
    .join('; ')
  const temperatures = [
    { label: 'die', values: die_c },
    { label: 'plate', values: plate_c },
    { label: 'coolant', values: coolant_c },
  ]
  const plots = [
    { unit: '°C', lines: temperatures },
    { unit: 'W', lines: [{ label: 'power', values: power_w }] },
    { unit: 'MHz', lines: clocked.map(({ name, clocks }) => ({ label: `clock${name}`, values: clocks })) },
  ]
  return {
    picture: drawnSeries(drawn, prediction, series, { ...tall, id }),
    said: `${title}: ${events.length === 0 ? 'no ratio is given back.' : `${happened}.`}`,
    figures: { kind: 'chart', chart: { title, timeS, plots } },
  }
}

/** Where the load with the least margin settles, and what ends it. */
function coolingPicture(drawn: Drawable): readonly Picture[] {
  const load = leastMargin(drawn.evaluation)?.load.name
  const id = `cooling-${drawn.evaluation.profile.definition.name}`
  const picture = load === undefined ? undefined : drawnCooling(drawn, { size: { ...half, id }, load })
  return picture === undefined ? [] : [picture]
}

/** The verdict, and what there is to say of it. */
function verdictText({ holds, undecided, exact, stopsAtC }: Expectation): string {
  if (holds === null) return undecided === undefined ? 'undecided' : `undecided: ${undecided}`
  if (stopsAtC !== undefined) return `does not hold: the machine stops at ${stopsAtC} °C`
  if (!holds) return 'does not hold'
  return exact ? 'holds, with nothing left over' : 'holds'
}

function expectationBlocks({ evaluation, expectations: all }: Summarized): Block[] {
  if (all.length === 0) return []
  const rows = all.map(expectation => {
    const { text: words, predicted, unit } = expectation
    const probability = probabilityOf(evaluation, expectation)
    return [
      words,
      predictedIn(predicted, unit),
      verdictText(expectation),
      percentText(probability === undefined ? undefined : probability * 100),
    ]
  })
  return [heading(3, 'Expectations'), table(['expected', 'predicted', 'verdict', 'probability'], rows)]
}

function* profileBlocks(source: ReportSource, uri: string, summarized: Summarized): Making {
  const { workspace } = source
  const { shown, evaluation, findings } = summarized
  const { profile, input } = evaluation
  const { name } = profile.definition
  const rests = [profile.part, profile.cooler, profile.room, profile.board].flatMap(one =>
    one === undefined ? [] : `${one.kind} ${one.name}`,
  )
  const rows = allFiguresOf(evaluation)
  const settings = source.features.resolved(uri, name)
  const intervals = yield* intervalBlocks(evaluation)
  for (const expectation of summarized.expectations) yield* probabilityInSlices(evaluation, expectation)
  const drawn: Drawable = { workspace, evaluation }
  const followed = courses(evaluation)
  const told: CourseTold[] = []
  yield
  for (const prediction of followed.slice(0, mostCourses)) {
    const series = seriesOf(evaluation, prediction, { overS: courseS, everyS: courseEveryS })
    const id = `course-${name}-${prediction.load.name}`
    if (series !== undefined) told.push(courseTold(drawn, prediction, series, id))
    yield
  }
  const others = followed.slice(mostCourses).map(({ load }) => load.name)
  const pictures = [...coolingPicture(drawn), ...told.flatMap(({ picture }) => picture ?? [])]
  return [
    heading(2, `Profile ${name}`),
    text(`${shown}: ${rests.join(', ')}.`),
    ...(pictures.length === 0 ? [] : [{ kind: 'pictures', pictures } as const]),
    ...(rows.length === 0 ? [] : [heading(3, 'The first quarter of an hour')]),
    ...(told.length === 0 ? [] : [{ kind: 'list', items: told.map(({ said }) => said) } as const]),
    ...(others.length === 0
      ? []
      : [text(`Not charted here, to keep the page short: ${others.join(', ')}. The command is \`${over}\`.`)]),
    ...told.flatMap(({ figures }) => figures ?? []),
    ...expectationBlocks(summarized),
    ...(findings.length === 0
      ? []
      : [
          heading(3, 'Findings'),
          {
            kind: 'list',
            items: findings.map(({ finding }) => `${finding.severity}: ${finding.message} [${finding.code}]`),
          } as const,
        ]),
    heading(3, 'What each load settles at'),
    rows.length === 0 ? text('No prediction can be made.') : predictionTable(evaluation, rows),
    ...groupsText([evaluation]),
    ...intervals,
    ...(input.assumed.length === 0 ? [] : [text(`Assumed, for lack of a value: ${input.assumed.join(', ')}.`)]),
    ...(settings === undefined ? [] : [behind('Settings', [{ kind: 'code', text: settings }])]),
  ]
}

const obtained: readonly string[] = [
  'Settled figures: the lowest balance of heat and temperature that a cold start reaches, level by level of the ratios as bands, limits and the die limit give them back (model sections 1 to 9).',
  'Switching power is C·V²·f per core; leakage doubles with temperature and grows with a power of the voltage. Both are fitted to a sample, not constants of nature.',
  'Thermoelectric modules: Seebeck coefficient, resistance and conductance at the mean temperature of the module, stated or drawn from four datasheet figures (after Lineykin and Ben-Yaakov 2007; model section 5).',
  'Voltages by trials: exponential survival with a rate that is log-linear in the voltage; a stop is known to the minute, one stop in 200 h is not the voltage’s, and a stated row counts as known to 25 mV (engineering judgement, no source).',
  'Dew point: Magnus form of WMO Guide No. 8 Annex 4.B over water, over ice below 0 °C.',
  'Charts over time: die, plate and coolant as three heat capacities, with a controller that acts every 10 ms (model section 10). Clock and power are means between two points.',
  'Runs: where the log settles, worked out from its warm-up on the bench as described, or figures read off by hand. A run that names a revision is compared with what its profile set then, with today’s constants. ± is one standard uncertainty of reading, constants, air and instrument together; `off` is a difference of more than two of them.',
]

/** The whole report but for the comparison, which stands before the last part. */
export function* reportBlocks(
  source: ReportSource,
  files: readonly ReportFile[],
  wanted: readonly string[],
  compared: () => readonly Comparison[],
): Making {
  const profiles: Block[] = []
  const all: Summarized[] = []
  for (const { uri, shown } of files) {
    for (const evaluation of source.evaluations(uri)) {
      const { name } = evaluation.profile.definition
      if (wanted.length > 0 && !wanted.includes(name)) continue
      const findings = source.findings(uri).filter(({ finding }) => finding.profile === name)
      const one = { shown, evaluation, expectations: source.expectations(evaluation), findings }
      all.push(one)
      profiles.push(...(yield* profileBlocks(source, uri, one)))
    }
  }
  const runs = files.flatMap(file =>
    source.bench.compared(file.uri).filter(({ record }) => wanted.length === 0 || wanted.includes(record.profile)),
  )
  yield
  const voltages: Block[] = []
  for (const part of new Set(all.flatMap(({ evaluation: { profile } }) => profile.part ?? [])))
    voltages.push(
      ...evidenceBlocks(
        part.name,
        yield* source.bench.evidenceInSlices(part),
        all.flatMap(({ evaluation }) =>
          evaluation.profile.part === part ? [{ workspace: source.workspace, evaluation }] : [],
        ),
      ),
    )
  const comparisons = compared()
  return [
    heading(1, 'Bench report'),
    { kind: 'caution', text: cautions.join(' ') },
    ...frontBlocks(source.workspace, all, comparisons),
    ...overviewBlocks(all),
    ...profiles,
    ...(runs.length === 0 ? [] : [heading(2, 'Runs'), ...runs.flatMap(run => runBlocks(source.workspace, run))]),
    ...voltages,
    ...baselineBlocks(comparisons),
    ...benchBlocks(source.workspace, files, all),
    heading(2, 'How the figures were obtained'),
    { kind: 'list', items: obtained },
  ]
}
