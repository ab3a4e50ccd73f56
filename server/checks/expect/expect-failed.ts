import { fromBase } from '../../../grammar/units/units.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import { type Expectation, type ExpectedFigure, expectationsOf } from '../../semantic/expectations.ts'
import type { Prediction } from '../../semantic/predict.ts'
import { failedWayOut } from '../support/expect-way-out.ts'
import { decimalsOf, replace, stateIn } from '../support/physics-edits.ts'
import {
  celsius,
  coreWords,
  cornerWords,
  durationWords,
  figure,
  limiterWords,
  ratioOf,
  rounded,
  watts,
} from '../support/physics-words.ts'
import { settingPlace } from '../support/place.ts'
import type { Check, Fix } from '../types.ts'

/** What a figure is called in a sentence that names the load first. */
const verbs: Readonly<Record<ExpectedFigure, string>> = {
  clock: 'holds',
  'above-dew': 'keeps the plate above the dew point by',
  die: 'brings the die to',
  plate: 'brings the plate to',
  coolant: 'brings the coolant to',
  power: 'takes',
  margin: 'leaves a margin of',
  'drive-power': 'takes a drive power of',
  voltage: 'gives the die',
  current: 'draws',
}

/** Decimals that a figure is worth, in the unit it is written in. */
function decimalsFor(expectation: Expectation): number {
  const { target, unit } = expectation
  const usual: Readonly<Record<string, number>> = { GHz: 2, V: 3, '°C': 1, K: 1, kW: 3, W: 0, A: 0 }
  return Math.max(decimalsOf(expectation.sourced.definition, target), usual[unit] ?? 0)
}

/** The line with the predicted figure in it, rounded so that it holds. */
function writePredicted({ profile }: Evaluation, expectation: Expectation): Fix | undefined {
  const { predicted, compare, target, unit, sourced, text } = expectation
  if (predicted === null) return undefined
  const number = rounded(predicted, decimalsFor(expectation), compare === '>=' ? 'down' : 'up')
  // Clocks, currents and powers of a load have no sense at nought or below.
  const isThermal = target.dimension === 'temperature' || target.dimension === 'temperature-difference'
  if (Number(number) <= 0 && !isThermal) return undefined
  const value = `${number} ${unit}`
  const title = `Expect ${value}`
  if (sourced.definition === profile.definition) return { title, edits: [replace(sourced.definition, target, value)] }
  const written = new RegExp(`-?[0-9.]+ ${unit.replace(/[^A-Za-z]/g, '\\$&')}`)
  const edit = stateIn(profile.definition, undefined, `expect ${text.replace(written, value)}`)
  return edit === undefined ? undefined : { title, edits: [edit] }
}

/** `` `render` on 12 active cores at 24 °C air and 55 % humidity``. */
function whereWords({ load, corner }: Prediction): string {
  const cores = load.load.kind === 'work' ? ` on ${coreWords(load.load.cores)}` : ''
  return `\`${load.name}\`${cores} ${cornerWords(corner)}`
}

/** What holds the clock, for figures that follow from it. */
function heldBy({ settled }: Prediction): string {
  const { limiter, ratio, powerW, dieC } = settled
  if (ratio === null) return ''
  const at = dieC === null ? '' : ` at ${celsius(dieC)}`
  const power = powerW === null ? '' : ` and ${watts(powerW)}`
  return `; what limits it there is ${limiterWords(limiter)} (${ratioOf(ratio)}${at}${power})`
}

/** How long an expectation that is to hold for a time lasts, and what ends it. */
function lastingWords({ lastsS, forS, transient }: Expectation): string {
  if (lastsS === undefined || forS === undefined || transient === undefined) return ''
  const last = transient.events.findLast(event => event.timeS <= lastsS)
  const why = last === undefined ? '' : `: ${last.what}`
  const end = transient.tripped ? `; the machine stops after ${durationWords(transient.endS)}` : ''
  return ` in its slowest second. From an idle bench it lasts ${durationWords(lastsS)} of ${durationWords(forS)}${why}${end}`
}

export const expectFailed: Check = {
  code: 'expect-failed',
  severity: 'error',
  title: 'An expectation that the prediction does not meet',
  page: {
    what: 'Each `expect` line at the worst of the core counts that its load declares and of the corners of the room. Comparisons allow one millionth, temperatures a microkelvin; thermal runaway fails every expectation.',
    why: 'What you meant to reach with this profile is not reached on this bench in the worst corner of this room.',
    remedy:
      'Change what limits it, as the message says; or expect what the bench can do. The quick fix writes the predicted figure, rounded so that it holds.',
    example: 'profile daily {\n  steps { 1 to 8 cores 50x }\n  expect pair holds >= 5.4 GHz\n}',
  },
  *inProfile(evaluation) {
    const room = evaluation.profile.room?.name
    for (const expectation of expectationsOf(evaluation)) {
      if (expectation.holds !== false || expectation.worst === undefined) continue
      const { worst, predicted, target, unit, compare, load, sourced } = expectation
      const base = { at: settingPlace(evaluation.profile, sourced), load, ...(room === undefined ? {} : { room }) }
      if (predicted === null) {
        const message = `${whereWords(worst)} finds no steady temperature, so nothing can be expected of it. Mend the thermal runaway first; do not try it out.`
        yield { ...base, message }
        continue
      }
      const decimals = decimalsFor(expectation) + 1
      const asked = fromBase(target.value, target.unit)
      const off = Math.abs(predicted - asked)
      const write = (value: number): string => `${figure(value, decimals)} ${unit}`
      const side = compare === '>=' ? 'below' : 'above'
      const fix = writePredicted(evaluation, expectation)
      const way = failedWayOut(evaluation, expectation)
      const lasting = lastingWords(expectation)
      yield {
        ...base,
        message: `${whereWords(worst)} ${verbs[expectation.figure]} ${write(predicted)}, ${write(off)} ${side} the ${write(asked)} expected${lasting}${heldBy(worst)}.${way}`,
        fixes: fix === undefined ? [] : [fix],
      }
    }
  },
}
