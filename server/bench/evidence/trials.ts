import type { Part } from '../../model/types.ts'
import { interpolateRows, needVoltageV } from '../../model/voltage.ts'
import type { Definition } from '../../semantic/definitions.ts'
import { bestFigure, type ComparedRun } from '../run/compared.ts'
import type { Outcome } from '../run/record.ts'

/** Runs as trials of a part's voltage: what held, and what stopped for want of it. */

/** One run that says how it ended: at which ratio and die voltage it held or stopped. */
export interface Trial {
  readonly run: string
  readonly definition: Definition
  readonly ratio: number
  /** At the die: measured, else predicted; in V. */
  readonly voltageV: number
  /** What `needs` asks for at that ratio, temperature and load, in V. */
  readonly statedV: number
  /** The voltage less what temperature and vector load ask for, in V: comparable with the rows of `needs`. */
  readonly comparableV: number
  readonly outcome: Outcome
}

/** Stops that the cooler explains, and stops that somebody or the mains made. Any other may be the voltage's. */
const otherCause =
  /\b(?:pump|fan|cooler|coolant|hose|leak|over-?heat|too hot|thermal|temperature|trip|power (?:cut|out|fail)|mains|by hand|interrupt|cancel|i stopped)/i

/** Whether the end of a run says anything of its voltage. */
function isOfVoltage(outcome: Outcome, dieC: number, part: Part): boolean {
  return outcome.kind === 'held' || !(otherCause.test(outcome.what) || dieC >= part.dieLimitC)
}

/** The ratio that ran: a measured clock wanders by less than half a step about the one that was set. */
function ratioOf({ predicted }: ComparedRun, clockGhz: number, part: Part): number {
  const ratio = clockGhz / part.referenceGhz
  const { settled } = predicted ?? {}
  const steady = settled?.state === 'steady' ? settled.ratio : null
  return steady !== null && steady !== undefined && Math.abs(ratio - steady) < part.ratioStep / 2 ? steady : ratio
}

/** A run as a trial of a part; undefined where it says nothing of the voltage. */
export function trialOf(run: ComparedRun, part: Part): Trial | undefined {
  const { record, predicted } = run
  const { outcome } = record
  const load = predicted?.load.load
  if (outcome === undefined || load?.kind !== 'work') return undefined
  const [clock, voltage, die] = (['clock', 'voltage', 'die'] as const).map(figure => bestFigure(run, figure)?.value)
  if (clock === undefined || voltage === undefined || die === undefined) return undefined
  if (!isOfVoltage(outcome, die, part)) return undefined
  const ratio = ratioOf(run, clock, part)
  const statedV = needVoltageV(part, ratio, die, load)
  const comparableV = voltage - (statedV - interpolateRows(part.needs, ratio))
  return { run: record.name, definition: record.definition, ratio, voltageV: voltage, statedV, comparableV, outcome }
}
