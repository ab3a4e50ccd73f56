/** Expectations in words. */

import { fromBase } from '../../../grammar/units/units.ts'
import { isWork } from '../../model/index.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import type { Expectation, ExpectedFigure } from '../../semantic/expectations.ts'
import { groupIndex, settledOfGroup } from '../../semantic/group-settled.ts'
import type { Prediction } from '../../semantic/predict.ts'
import { activeCoresText, busyGroupsText } from '../../wording/counts.ts'
import { powerText, ratioText, statedText, temperatureText, trimmed, voltageText } from '../../wording/figures.ts'
import { limiterPhrase } from '../../wording/limiters.ts'
import { cornerWords, ofGroupText } from '../../wording/places.ts'
import { durationText } from '../../wording/times.ts'
import { failedWayOut } from './expect-way-out.ts'
import { decimalsOf } from './physics-edits.ts'

/** What a figure is called in a sentence that names the load first. */
const verbs: Readonly<Record<ExpectedFigure, string>> = {
  clock: 'holds',
  'above-dew': 'keeps the plate',
  die: 'brings the die to',
  plate: 'brings the plate to',
  coolant: 'brings the coolant to',
  power: 'takes',
  margin: 'leaves a margin of',
  'drive-power': 'takes a drive power of',
  voltage: 'gives the die',
  current: 'draws',
  stable: 'is stable with',
  trips: 'trips after',
}

/** What a figure is called in a verdict. */
const names: Readonly<Record<ExpectedFigure, string>> = {
  clock: 'Clock',
  'above-dew': 'Plate',
  die: 'Die',
  plate: 'Plate',
  coolant: 'Coolant',
  power: 'Power',
  margin: 'Margin',
  'drive-power': 'Drive power',
  voltage: 'Voltage',
  current: 'Current',
  stable: 'Stability',
  trips: 'Trip',
}

/** Decimals that a figure is worth, in the unit it is written in. */
export function decimalsFor(expectation: Expectation): number {
  const { target, unit } = expectation
  const usual: Readonly<Record<string, number>> = { GHz: 2, V: 3, '°C': 1, K: 1, kW: 3, W: 0, A: 0, s: 0, min: 1 }
  return Math.max(decimalsOf(expectation.sourced.definition, target), usual[unit] ?? 0)
}

/** A figure in the expectation's own unit: with a digit more than asked for, to distinguish it from what is asked. */
function written(expectation: Expectation, value: number): string {
  return `${trimmed(value, decimalsFor(expectation) + 1)} ${expectation.unit}`
}

/** What is expected: `at least 4.7 GHz`. */
export function expectedText(expectation: Expectation): string {
  const { compare, target } = expectation
  return `${compare === '>=' ? 'at least' : 'at most'} ${written(expectation, fromBase(target.value, target.unit))}`
}

/** What is predicted: `4.653 GHz`; undefined where there is no figure. */
export function predictedText(expectation: Expectation): string | undefined {
  return expectation.predicted === null ? undefined : written(expectation, expectation.predicted)
}

/** `` `render` on 12 active cores at 24 °C air and 55 % humidity``, of a part with groups how many cores of each. */
function whereWords({ load, corner, settled: { groups } }: Prediction): string {
  const active = groups === undefined ? undefined : busyGroupsText(groups, activeCoresText)
  const cores = isWork(load.load) ? ` on ${active ?? activeCoresText(load.load.cores)}` : ''
  return `\`${load.name}\`${cores} ${cornerWords(corner)}`
}

/** What holds the clock, for figures that follow from it. */
function heldBy(evaluation: Evaluation, { figure, group }: Expectation, worst: Prediction): string {
  const index = groupIndex(evaluation, group)
  const settled = index === undefined ? worst.settled : settledOfGroup(worst.settled, index)
  if (figure === 'stable') {
    const given = settled.notes.voltages.map(one => `${ratioText(one.ratio)} with ${voltageText(one.voltageV)}`)
    return `; the die gets ${given.join(', ')}`
  }
  const { limiter, ratio, powerW, dieC } = settled
  if (ratio === null) return ''
  const at = dieC === null ? '' : ` at ${temperatureText(dieC)}`
  const power = powerW === null ? '' : ` and ${powerText(powerW)}`
  return `; what limits it there is ${limiterPhrase(limiter)} (${ratioText(ratio)}${at}${power})`
}

/** How long an expectation that is to hold for a time lasts, and what ends it. */
function lastingWords({ figure, lastsS, forS, transient }: Expectation): string {
  if (figure === 'stable' && forS !== undefined) return ` for ${durationText(forS)}`
  if (lastsS === undefined || forS === undefined || transient === undefined) return ''
  const last = transient.events.findLast(event => event.timeS <= (lastsS || 1))
  const why = last === undefined ? '' : `: ${last.what}`
  const end = transient.tripped ? `; the machine stops after ${durationText(transient.endS)}` : ''
  const lasts = lastsS === 0 ? 'not even the first second holds' : `it lasts ${durationText(lastsS)}`
  return ` in its slowest second. From an idle bench ${lasts} of ${durationText(forS)}${why}${end}`
}

/** What is wrong with an expectation that does not hold: where, by how much, what limits it, and a way out. */
export function failedText(evaluation: Evaluation, expectation: Expectation, worst: Prediction): string {
  const { predicted, target, compare, unit } = expectation
  if (predicted === null) {
    return `Thermal runaway: ${whereWords(worst)} has no steady temperature, so no expectation holds. Fix the runaway first; do not try it.`
  }
  const { stopsAtC } = expectation
  if (stopsAtC !== undefined) {
    return `Machine stops: ${whereWords(worst)} brings the die to ${temperatureText(worst.settled.dieC ?? stopsAtC)}, and ${statedText(stopsAtC, '°C')} is where it stops. No clock is held there; cool it better or lower the step before you try it.`
  }
  const asked = fromBase(target.value, target.unit)
  const off = `${trimmed(Math.abs(predicted - asked), decimalsFor(expectation) + 1)} ${unit === '°C' ? 'K' : unit}`
  const side = compare === '>=' ? 'below' : 'above'
  const isDew = expectation.figure === 'above-dew'
  const found = isDew
    ? `${written(expectation, Math.abs(predicted))} ${predicted < 0 ? 'below' : 'above'} the dew point`
    : written(expectation, predicted)
  const verdict = `${names[expectation.figure]}${ofGroupText(expectation.group)} ${off} ${side} what is expected`
  const figures = `${found} where ${expectedText(expectation)}${isDew ? ' above it' : ''} is expected`
  const way = failedWayOut(evaluation, expectation)
  return `${verdict}: ${whereWords(worst)} ${verbs[expectation.figure]} ${figures}${lastingWords(expectation)}${heldBy(evaluation, expectation, worst)}.${way}`
}
