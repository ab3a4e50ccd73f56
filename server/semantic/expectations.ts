/** What a profile's `expect` lines come to. */

import { keptWhile } from '../../grammar/once.ts'
import type { Item } from '../../grammar/tree.ts'
import { fromBase } from '../../grammar/units/units.ts'
import type { Match, Quantity } from '../../grammar/values.ts'
import { type Bench, type ClockOverTime, dieCeilingC, type Figures, isWork, type Transient } from '../model/index.ts'
import { brokenText, missingText } from '../wording/missing.ts'
import { loadConstants } from './constants.ts'
import { drivenPlate } from './coolers/index.ts'
import { judgeCourse } from './course-expectations.ts'
import { nameAfter, quantity, text } from './definitions.ts'
import { doubtedOf, doubtedText, isDoubted } from './doubted.ts'
import { hasTarget } from './drives.ts'
import type { Evaluation } from './evaluate.ts'
import type { Evidence } from './evidence.ts'
import type { Asked, Expectation, ExpectedFigure } from './expectation.ts'
import type { ProfileInput } from './input.ts'
import { meets, toleranceOf } from './judging.ts'
import { declaredPoints, leftOutText, pointsOf } from './load-cases.ts'
import { clockOf, warmCorners } from './over-time.ts'
import type { Prediction } from './predict.ts'
import type { Sourced } from './profile.ts'
import { stablePct } from './stable.ts'
import { uncoveredText } from './uncovered.ts'
import { readStateOf, unreadOf, unreadText } from './unread.ts'
import { fastestDoubt, type VoltageDoubt, voltageDoubt } from './voltage-doubt.ts'

export type { Expectation, ExpectedFigure } from './expectation.ts'

function itemText(item: Item): string {
  switch (item.kind) {
    case 'number':
      return item.unit === undefined ? item.number.canonical : `${item.number.canonical} ${item.unit.canonical}`
    case 'sign':
      return item.sign
    case 'compare':
      return item.operator
    case 'plus-minus':
      return '±'
    default:
      return item.text
  }
}

/** The line without `expect`: one space between its items, a sign at its number. */
function expectationText(match: Match): string {
  let line = ''
  let before: Item | undefined
  for (const item of match.statement.items.slice(1)) {
    line += before === undefined || before.kind === 'sign' ? itemText(item) : ` ${itemText(item)}`
    before = item
  }
  return line
}

const targets = ['clock', 'above-dew', 'stable', 'temperature', 'power', 'voltage', 'current', 'trips'] as const
/** Figures that are named by what they are compared with. */
const ownFigures: readonly string[] = ['clock', 'above-dew', 'stable', 'trips']

function asked(sourced: Sourced): Asked | undefined {
  const { match } = sourced
  const name = targets.find(target => match.values.has(target))
  const target = name === undefined ? undefined : quantity(match, name)
  const course = text(match, 'course')?.text
  const load = course === undefined ? text(match, 'load')?.text : ''
  if (name === undefined || target === undefined || load === undefined) return undefined
  const figure = (ownFigures.includes(name) ? name : text(match, 'figure')?.text) as ExpectedFigure
  const compare = text(match, 'compare')?.text === '<=' ? '<=' : '>='
  const forS = quantity(match, 'for')?.value
  const about = course === undefined ? { load } : { load, course }
  return {
    sourced,
    text: expectationText(match),
    ...about,
    figure,
    compare,
    target,
    group: nameAfter(match),
    forS,
    unit: target.unit.symbol,
  }
}

/**
 * A figure of a settled load in its dimension's base unit; null where it does not exist, or is not the model's.
 * @param group that it is about; undefined: the first that has active cores
 */
export function figureOf(figure: ExpectedFigure, settled: Figures, group?: string): number | null {
  const own = group === undefined ? settled : settled.groups?.find(one => one.group === group)
  switch (figure) {
    case 'clock':
      return own?.clockMhz == null ? null : own.clockMhz / 1000
    case 'above-dew':
      return settled.plateC === null ? null : settled.plateC - settled.wetC
    case 'die':
      return settled.dieC
    case 'plate':
      return settled.plateC
    case 'coolant':
      return settled.coolantC
    case 'power':
      return settled.powerW
    case 'margin':
      return settled.marginW
    case 'drive-power':
      return settled.driveW
    case 'voltage':
      return own?.voltageV ?? null
    case 'current':
      return own?.currentA ?? null
    case 'stable':
    case 'trips':
      return null
  }
}

/** The groups of cores whose steps lack a row for a load; undefined where all cores are alike, or none lacks one. */
function uncoveredBy({ bench, loads }: ProfileInput, name: string): string | undefined {
  const work = loads.flatMap(({ name: own, load }) => (own === name && isWork(load) ? [load] : []))
  return bench && uncoveredText(bench, work)
}

/** Why a load has no prediction at all, in words; `no row of \`steps\` covers 5 to 8 cores of small`. */
export function whyUnpredicted(evaluation: Evaluation, load: string): string {
  const { profile, input } = evaluation
  const broken = brokenText(profile.broken)
  if (broken !== undefined) return broken
  const definition = profile.loads.find(other => other.name === load)
  const lacks = input.missing.filter(missing => missing.kind !== 'load' || missing.definition === definition)
  const first = lacks[0]
  if (first !== undefined) return lacks.length === 1 ? missingText(first) : `${missingText(first)}, and more`
  if (load === 'off') return 'the plate is not driven when the machine is off: the cooler says no `drive-when-off yes`'
  if (definition === undefined) return `no load is called \`${load}\``
  const constants = loadConstants(definition).value
  const leftOut = constants && input.bench && leftOutText(input.bench.part, constants)
  if (leftOut !== undefined) return leftOut
  if (constants && input.bench && pointsOf(input.bench.part, constants).length === 0)
    return 'the load asks for more cores than the part has'
  return uncoveredBy(input, load) ?? 'no row of `steps` covers its core counts'
}

/** Why a figure that no runaway took away is not there. */
function whyAbsent(figure: ExpectedFigure, load: string): string {
  if (figure === 'drive-power') return 'there is no thermoelectric plate to drive'
  if (figure === 'stable') return `no core is at work under \`${load}\``
  const what = figure === 'clock' ? 'clock' : figure === 'voltage' ? 'core voltage' : 'core current'
  return `the model gives \`${load}\` no ${what}`
}

/** Whether a load is predicted at every core count that it declares. */
function isWhole(input: ProfileInput, predictions: readonly Prediction[]): boolean {
  const definition = predictions[0]?.load.definition
  if (definition === undefined) return true
  const constants = loadConstants(definition).value
  if (constants === undefined) return false
  return predictions.length === declaredPoints(constants) * input.corners.length
}

/**
 * How the sliding second of a run compares with a clock in GHz.
 * @param group whose clock; undefined: the first that has active cores
 */
export function clockOverTime(
  transient: Transient,
  seconds: number,
  target: Quantity,
  group: string | undefined,
): { value: number; lastsS: number } {
  const clock = clockOf(transient, group)
  const slow = clock && firstBelow(clock, target)
  // A machine that has stopped holds nothing.
  if (clock === undefined || transient.tripped || transient.endS < seconds * (1 - 1e-9)) {
    return { value: 0, lastsS: Math.min(transient.endS, slow ?? transient.endS) }
  }
  return { value: clock.lowestSecondMhz / 1000, lastsS: slow ?? seconds }
}

/** When the sliding second first falls below the clock, 0 where the first one does; undefined where it never does. */
function firstBelow({ slowerSeconds }: ClockOverTime, target: Quantity): number | undefined {
  const timeS = slowerSeconds.find(({ clockMhz }) => !meets(clockMhz / 1000, '>=', target))?.timeS
  return timeS !== undefined && timeS <= 1 + 1e-6 ? 0 : timeS
}

/** An expectation that is to hold for a time: each core count, started on an idle bench in the warmest air. */
function judgeOverTime(
  { input, overTime: runs }: Evaluation,
  question: Asked,
  predictions: readonly Prediction[],
  bench: Bench,
  seconds: number,
): Expectation {
  const warm = warmCorners(bench, input.corners)
  let worst: (Pick<Expectation, 'predicted' | 'worst' | 'transient'> & { value: number; lastsS: number }) | undefined
  let isPending = false
  for (const prediction of predictions) {
    if (!warm.includes(prediction.corner)) continue
    const transient = runs.run(bench, prediction.load.load, prediction.corner, seconds)
    if (transient === 'pending') isPending = true
    else if (transient === undefined) {
      const undecided = `\`${question.load}\` cannot be started: idle itself has no steady temperature there`
      return { ...question, predicted: null, holds: null, worst: prediction, undecided }
    } else {
      const { value, lastsS } = clockOverTime(transient, seconds, question.target, question.group)
      const isWorse = worst === undefined || (question.compare === '>=' ? value < worst.value : value > worst.value)
      if (isWorse)
        worst = { value, lastsS, predicted: fromBase(value, question.target.unit), worst: prediction, transient }
    }
  }
  if (isPending || worst === undefined) {
    return {
      ...question,
      predicted: null,
      holds: null,
      worst: undefined,
      pending: true,
      undecided: 'the run over time is being made',
    }
  }
  const { value, lastsS, ...rest } = worst
  const holds = meets(value, question.compare, question.target)
  return { ...question, ...rest, holds, ...(holds ? {} : { lastsS }) }
}

/** Whether the drive of the plate holds this figure at a temperature, so that it is never better than asked of it. */
function isHeldAt({ cooler, profile }: Bench, figure: ExpectedFigure): boolean {
  const isHeld = drivenPlate(cooler) !== undefined && hasTarget(profile.drive)
  return isHeld && (figure === 'above-dew' || figure === 'plate')
}

/** The lowest die temperature at which a machine stops under a load, where it comes to that: it is not clocked then. */
function stopOf(bench: Bench, predictions: readonly Prediction[]): { stopsAtC: number; worst: Prediction } | undefined {
  const stopsAtC = bench.part.tripC ?? dieCeilingC(bench.part, bench.profile) + 10
  const worst = predictions.find(({ settled }) => settled.dieC !== null && settled.dieC >= stopsAtC)
  return worst === undefined ? undefined : { stopsAtC, worst }
}

/**
 * A clock that would do is held only where the load would run at all: at a voltage that the part was measured at, that
 * reaches the die, and that no run speaks against.
 */
function doubted(
  bench: Bench,
  predictions: readonly Prediction[],
  evidence: Evidence | undefined,
  found: Expectation,
): Expectation {
  if (found.figure !== 'clock' || found.holds !== true) return found
  const stop = found.transient === undefined ? stopOf(bench, predictions) : undefined
  if (stop !== undefined) return { ...found, ...stop, holds: false }
  for (const { settled } of predictions) {
    const doubt = voltageDoubt(bench.part, settled.notes, evidence) ?? startDoubt(bench, found, evidence)
    if (doubt !== undefined) return { ...found, holds: null, doubt, undecided: doubt.why }
  }
  return found
}

/** A run over time begins on a cool die, at ratios that the warm one has given back. */
function startDoubt(
  { part }: Bench,
  { transient }: Expectation,
  evidence: Evidence | undefined,
): VoltageDoubt | undefined {
  if (transient === undefined) return undefined
  const { groups, clockMhz } = transient.series
  return fastestDoubt(
    part,
    groups?.map(one => fastestOf(one.clockMhz)),
    fastestOf(clockMhz),
    evidence,
  )
}

/** The fastest clock of a series; 0 where there is none. */
const fastestOf = (clockMhz: readonly number[]): number =>
  clockMhz.reduce((most, one) => (Number.isNaN(one) ? most : Math.max(most, one)), 0)

/** Whether a group has active cores at a prediction's counts. */
function isBusy({ settled }: Prediction, group: string): boolean {
  return (settled.groups?.find(one => one.group === group)?.cores ?? 0) > 0
}

function judge(evaluation: Evaluation, question: Asked, evidence: Evidence | undefined): Expectation {
  if (question.course !== undefined) return judgeCourse(evaluation, question, evidence)
  const { input } = evaluation
  const { load, figure, compare, target, forS } = question
  const undecided = (why: string): Expectation => {
    return { ...question, predicted: null, holds: null, worst: undefined, undecided: why }
  }
  const all = evaluation.predictions.filter(prediction => prediction.load.name === load)
  const { bench } = input
  if (all.length === 0 || bench === undefined) return undecided(whyUnpredicted(evaluation, load))
  const { group } = question
  if (group !== undefined && bench.part.groups?.some(({ name }) => name === group) !== true)
    return undecided(`the part has no group \`${group}\``)
  // Counts at which the group is idle say nothing of it.
  const predictions = group === undefined ? all : all.filter(prediction => isBusy(prediction, group))
  if (predictions.length === 0) return undecided(`group \`${group}\` is idle under \`${load}\``)
  const definition = predictions[0]?.load.definition
  const [unread] = [...unreadOf(evaluation.profile), ...(definition ? readStateOf(definition.chunk).unread : [])]
  // What stands in its place is nobody's bench.
  if (unread !== undefined) return undecided(`\`${unreadText(unread)}\` does not read`)
  const [unusual] = doubtedOf(evaluation.profile)
  if (unusual !== undefined) return undecided(`\`${doubtedText(unusual)}\` is far from what is usual`)
  const { definition: home, match } = question.sourced
  if (isDoubted(home.chunk, match)) return undecided('what it asks for is far from what is usual')
  const first = predictions[0]?.load.load
  if (forS !== undefined && figure !== 'stable' && first !== undefined && isWork(first)) {
    const found = judgeOverTime(evaluation, question, predictions, bench, forS)
    return wholly(input, all, doubted(bench, predictions, evidence, found))
  }
  let worst: { readonly prediction: Prediction; readonly value: number } | undefined
  for (const prediction of predictions) {
    const { settled } = prediction
    const value =
      figure === 'stable' ? stablePct(bench.part, settled, forS ?? 0, evidence) : figureOf(figure, settled, group)
    if (value !== null && typeof value === 'object') return undecided(value.undecided)
    if (value === null) {
      if (settled.state !== 'runaway') return undecided(whyAbsent(figure, load))
      // Nothing steady exists: whatever is asked of it, it is not so.
      return { ...question, predicted: null, holds: false, worst: prediction }
    }
    const isWorse = worst === undefined || (compare === '>=' ? value < worst.value : value > worst.value)
    if (isWorse) worst = { prediction, value }
  }
  if (worst === undefined) return undecided(whyUnpredicted(evaluation, load))
  const holds = meets(worst.value, compare, target)
  const predicted = fromBase(worst.value, target.unit)
  const isExact = holds && isHeldAt(bench, figure) && Math.abs(worst.value - target.value) <= toleranceOf(target)
  const found = { ...question, predicted, holds, worst: worst.prediction, ...(isExact ? { exact: true as const } : {}) }
  return wholly(input, all, doubted(bench, predictions, evidence, found))
}

/** One that holds wherever it can be judged, but cannot be judged at every core count, is undecided. */
function wholly(input: ProfileInput, predictions: readonly Prediction[], found: Expectation): Expectation {
  if (found.holds !== true || isWhole(input, predictions)) return found
  const undecided =
    uncoveredBy(input, found.load) ?? 'some of its core counts have no row in `steps`, or no core in the part'
  return { ...found, holds: null, undecided }
}

/** Evicted with the evaluation; replaced when the bench has shown something else. */
const known = keptWhile<Evaluation, readonly Expectation[]>()

/**
 * The expectations of an evaluated profile, inherited ones among them, in the order of the profile's chain. Each is
 * judged at its worst core count and corner; thermal runaway fails every one that asks for something steady. One that
 * is to hold for a time is `pending` until its run is made (`over-time.ts`); then asking again decides it.
 * @param evidence what runs have shown of the profile's part
 */
export function expectationsOf(evaluation: Evaluation, evidence?: Evidence): readonly Expectation[] {
  const before = known.of(evaluation, [evidence])
  if (before !== undefined) return before
  const found = evaluation.profile.expectations().flatMap(sourced => {
    const question = asked(sourced)
    return question === undefined ? [] : [judge(evaluation, question, evidence)]
  })
  return found.some(one => one.pending) ? found : known.keep(evaluation, [evidence], found)
}

/** Judges one expectation by itself, whether or not the profile states it; undefined where the line does not read. */
export function expectationOf(
  evaluation: Evaluation,
  sourced: Sourced,
  evidence: Evidence | undefined,
): Expectation | undefined {
  const question = asked(sourced)
  return question === undefined ? undefined : judge(evaluation, question, evidence)
}

/** Judges the expectations of an evaluated profile by what the bench has shown. */
export type Judge = (evaluation: Evaluation) => readonly Expectation[]
