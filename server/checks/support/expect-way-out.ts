/** What would make a failed expectation hold, tried out at the prediction that decides it. */

import { firstServing } from '../../model/first-serving.ts'
import {
  activeGroups,
  groupLoads,
  groupSettings,
  isWork,
  partOfGroup,
  ratioStepCount,
  type SettledState,
  settle,
  stepRatio,
  withGroupSettings,
} from '../../model/index.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import { type Expectation, figureOf } from '../../semantic/expectations.ts'
import { groupIndex, settledOfGroup } from '../../semantic/group-settled.ts'
import { meets } from '../../semantic/judging.ts'
import { limitRows } from '../../semantic/limiters.ts'
import { powerText, ratioText, statedText } from '../../wording/figures.ts'
import { ofGroupText } from '../../wording/places.ts'
import { deciderWords } from './deciders.ts'

/** The highest lower ratio for these cores with which the expectation holds there. */
function lowerRatio(evaluation: Evaluation, expectation: Expectation): string {
  const { bench } = evaluation.input
  const { worst, figure, compare, target } = expectation
  const load = worst?.load.load
  if (bench === undefined || worst === undefined || load === undefined || !isWork(load)) return ''
  const { part, profile } = bench
  // Of a part with groups that which the expectation names, or the first that is at work.
  const index = groupIndex(evaluation, expectation.group) ?? activeGroups(part, load)[0]?.index ?? 0
  const cores = groupLoads(part, load)[index]?.cores ?? 0
  const own = groupSettings(profile, index)
  const step = stepRatio(own, cores)
  if (step === undefined) return ''
  const at = (count: number): { isFine: boolean; powerW: number | null } => {
    const steps = [{ fromCores: cores, toCores: cores, ratio: step - count * part.ratioStep }, ...own.steps]
    const settled = settle(withGroupSettings(bench, index, { steps }), load, worst.corner)
    const value = settled === null ? null : figureOf(figure, settled, expectation.group)
    return { isFine: value !== null && meets(value, compare, target), powerW: settled?.powerW ?? null }
  }
  const most = Math.floor(ratioStepCount(partOfGroup(part, index), step))
  if (most < 1 || !at(most).isFine) return ''
  const high = firstServing(0, most, count => at(count).isFine)
  const before = worst.settled.powerW
  const after = at(high).powerW
  const less = before !== null && after !== null && before > after ? `, ${powerText(before - after)} less` : ''
  return ` A step of ${ratioText(step - high * part.ratioStep)} for these cores${ofGroupText(part.groups?.[index]?.name)} would hold${less}.`
}

/** How a clock that is too low could be reached. */
function higherClock(evaluation: Evaluation, expectation: Expectation): string {
  const { bench } = evaluation.input
  const { worst, target, compare } = expectation
  if (bench === undefined || worst === undefined || compare !== '>=') return ''
  const index = groupIndex(evaluation, expectation.group)
  const settled = index === undefined ? worst.settled : settledOfGroup(worst.settled, index)
  const { referenceGhz, ratioStep } = bench.part
  const wanted = Math.ceil(target.value / referenceGhz / ratioStep - 1e-6) * ratioStep
  const { sustainedPowerW, burstPowerW } = bench.profile.limits
  const coolerWords = 'less voltage, or less resistance between die and air'
  switch (settled.limiter) {
    case 'step':
      return ` It takes a step of ${ratioText(wanted)}, if part and cooler can.`
    case 'vector':
      return ` It takes ${ratioText(wanted)} after what \`vector\` gives back, if part and cooler can.`
    case 'band':
      return ` It takes a band that begins later or gives back less, or a cooler die: ${coolerWords}.`
    case 'die-limit':
      return ` It takes a cooler die: ${coolerWords}.`
    case 'sustained-power':
      return sustainedPowerW === undefined
        ? ''
        : ` It takes more than \`sustained-power ${statedText(sustainedPowerW, 'W')}\`, or less voltage.`
    case 'burst-power':
      return burstPowerW === undefined
        ? ''
        : ` It takes more than \`burst-power ${statedText(burstPowerW, 'W')}\`, or less voltage.`
    case 'current':
      return limitRows(bench, 'current').length === 0
        ? ''
        : ' It takes less voltage; the limit on current is for the makers of board and part to raise.'
    case 'none':
      return ''
  }
}

/** What of the bench alone keeps the expectation from holding; the margin takes too long to find once more. */
function decidedBy({ input }: Evaluation, { figure, compare, target, forS, worst, group }: Expectation): string {
  if (input.bench === undefined || worst === undefined || forS !== undefined || figure === 'margin') return ''
  const isFine = (settled: SettledState): boolean => {
    const value = figureOf(figure, { ...settled, marginW: null }, group)
    return value !== null && meets(value, compare, target)
  }
  return deciderWords(input.bench, { load: worst.load.load, corner: worst.corner }, isFine)
}

/** Sentences about what decides and the way out, a space before each; empty where none was found. */
export function failedWayOut(evaluation: Evaluation, expectation: Expectation): string {
  return `${decidedBy(evaluation, expectation)}${wayOut(evaluation, expectation)}`
}

function wayOut(evaluation: Evaluation, expectation: Expectation): string {
  switch (expectation.figure) {
    case 'clock':
      return expectation.compare === '>=' ? higherClock(evaluation, expectation) : lowerRatio(evaluation, expectation)
    case 'above-dew':
      return ' A warmer plate takes less drive, or `drive dew` with that margin; condensation is a danger to the bench.'
    case 'stable':
      return ' Give it more voltage, lower the step, or prove the voltage with a run that holds.'
    default:
      return lowerRatio(evaluation, expectation)
  }
}
