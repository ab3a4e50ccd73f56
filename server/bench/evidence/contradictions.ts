import type { Part } from '../../model/types.ts'
import { interpolateRows, isAboveRows } from '../../model/voltage.ts'
import type { Contradiction, Evidence } from '../../semantic/evidence.ts'
import type { Trial } from './trials.ts'

/** Voltages nearer to each other than this are the same: a thousandth of a millivolt. */
const SAME_V = 1e-6
/**
 * One stop may have another cause than the voltage: hours that held at no more voltage and no lower a ratio outweigh it,
 * one hour for each stop. Engineering judgement, no source.
 */
const OUTWEIGHS_S = 3600

interface Stop {
  readonly trial: Trial
  readonly found: Contradiction
}

function stopsOf(part: Part, trials: readonly Trial[]): Stop[] {
  return trials.flatMap(trial => {
    const { run, definition, ratio, voltageV, statedV, comparableV, outcome } = trial
    // Beyond the last row nothing is stated that a run could speak against.
    if (outcome.kind !== 'stopped' || isAboveRows(part.needs, ratio - part.ratioStep / 2)) return []
    if (comparableV < interpolateRows(part.needs, ratio) - SAME_V) return []
    const found = { run, definition, ratio, voltageV, statedV, afterS: outcome.afterS, what: outcome.what }
    return [{ trial, found }]
  })
}

/** How long runs held in all at this ratio or a faster one and at this voltage or less, in s. */
function heldS(trials: readonly Trial[], ratio: number, comparableV: number, halfStep: number): number {
  return trials.reduce((sum, trial) => {
    const counts = trial.ratio >= ratio - halfStep && trial.comparableV <= comparableV + SAME_V
    return counts && trial.outcome.kind === 'held' ? sum + trial.outcome.forS : sum
  }, 0)
}

/**
 * What trials say against the `needs` of a part. The whole decision is made here, by a rule: a run that stopped at a
 * ratio although its die had what `needs` asks for speaks against that ratio and all faster ones that are said to need no
 * more than it had, unless as many hours as there are such stops were held at no more voltage and no lower a ratio. A
 * voltage that was itself held for an hour at such a ratio is not doubted. Undefined where nothing is contradicted.
 */
export function contradictionsOf(part: Part, trials: readonly Trial[]): Evidence | undefined {
  const halfStep = part.ratioStep / 2
  const all = stopsOf(part, trials)
  const stops = all.filter(({ trial }) => {
    const count = all.filter(other => other.trial.comparableV >= trial.comparableV - SAME_V).length
    return heldS(trials, trial.ratio, trial.comparableV, halfStep) < count * OUTWEIGHS_S
  })
  if (stops.length === 0) return undefined
  // The one at the highest voltage says most.
  stops.sort((a, b) => b.trial.comparableV - a.trial.comparableV)
  const reaches = ({ trial }: Stop, ratio: number): boolean => trial.ratio <= ratio + halfStep
  const says = (stop: Stop, ratio: number): boolean =>
    reaches(stop, ratio) && interpolateRows(part.needs, ratio) <= stop.trial.comparableV + SAME_V
  return {
    against: (ratio, comparableV) => {
      if (heldS(trials, ratio, comparableV, halfStep) >= OUTWEIGHS_S) return undefined
      return stops.find(stop => says(stop, ratio) || (reaches(stop, ratio) && comparableV <= stop.trial.comparableV))
        ?.found
    },
    againstRow: ratio => {
      // Between two rows it is the line up to the upper one that is too low.
      const isUpper = ({ trial }: Stop): boolean =>
        part.needs.find(row => row.ratio >= trial.ratio - halfStep)?.ratio === ratio
      return stops.find(stop => says(stop, ratio) || isUpper(stop))?.found
    },
    of: run => stops.find(({ found }) => found.definition === run)?.found,
  }
}
