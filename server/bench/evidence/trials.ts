/** What was tried of a part's voltage: runs that say how they ended, and points that were seen to run. */
import { interpolateRows, isWork, needVoltageV, type Part } from '../../model/index.ts'
import type { Definition } from '../../semantic/definitions.ts'
import { hasOperatingPoint, knownPoints } from '../../semantic/known.ts'
import { bestValue, type ComparedRun } from '../run/compared.ts'
import type { Outcome } from '../run/record.ts'
import type { VoltageTrial } from './hazard.ts'

/** One trial: at which ratio and die voltage the machine held or stopped. */
export interface Trial extends VoltageTrial {
  /** The run; undefined for a row of `known`. */
  readonly run: string | undefined
  /** Where it is written: the run, or the part. */
  readonly definition: Definition
  /** At the die: measured, else predicted; in V. */
  readonly voltageV: number
  /** Whether that was measured. */
  readonly isMeasured: boolean
  /** What `needs` asks for at that ratio, temperature and load, in V. */
  readonly statedV: number
  /** What was seen when it stopped, in the person's words. */
  readonly what: string
}

/** A run that says how it ended and is no trial of the voltage, and why, in words that follow "because". */
export interface NoTrial {
  readonly run: string
  readonly definition: Definition
  readonly why: string
}

/** A row of `known` ran for a while: as a trial it counts as held this long. Engineering judgement, no source. */
const KNOWN_HELD_S = 600

/** Stops that the cooler explains, and stops that somebody or the mains made. Any other may be the voltage's. */
const otherCause =
  /\b(?:pump|fan|cooler|coolant|hose|leak|over-?heat|too hot|thermal|temperature|trip|power (?:cut|out|fail)|mains|by hand|interrupt|cancel|i stopped)/i

/** Why the end of a run says nothing of its voltage; undefined where it does. */
function otherEnd(outcome: Outcome, dieC: number, part: Part): string | undefined {
  if (outcome.kind === 'held') return undefined
  const named = otherCause.exec(outcome.what)?.[0]
  if (named !== undefined) return `its words name another cause than the voltage (“${named}”)`
  return dieC >= part.dieLimitC ? 'its die was at the limit of the part' : undefined
}

/** A measured clock wanders; within this share of a step it is the ratio that was entered. */
const SAME_RATIO = 0.3

/** The ratio that ran. */
function ratioOf(clockGhz: number, { referenceGhz, ratioStep }: Part, predicted?: number | null): number {
  const ratio = clockGhz / referenceGhz
  if (typeof predicted === 'number' && Math.abs(ratio - predicted) < ratioStep / 2) return predicted
  const entered = Number((Math.round(ratio / ratioStep) * ratioStep).toFixed(6))
  return Math.abs(ratio - entered) < SAME_RATIO * ratioStep ? entered : ratio
}

/** A run as a trial of a part; undefined where it does not say how it ended. */
export function trialOf(run: ComparedRun, part: Part): Trial | NoTrial | undefined {
  const { record, predicted, figures } = run
  const { outcome } = record
  if (outcome === undefined) return undefined
  const none = (why: string): NoTrial => ({ run: record.name, definition: record.definition, why })
  if (record.course !== undefined) return none('it was made under a course, with several loads')
  const load = predicted?.load.load
  if (load === undefined) return none(run.cannot ?? 'it cannot be predicted')
  if (!isWork(load)) return none('no core was at work')
  const [clock, voltage, die] = (['clock', 'voltage', 'die'] as const).map(figure => bestValue(run, figure))
  if (clock === undefined || voltage === undefined || die === undefined)
    return none('there is no clock, voltage or die temperature of it')
  const other = otherEnd(outcome, die, part)
  if (other !== undefined) return none(other)
  const { settled } = predicted ?? {}
  const ratio = ratioOf(clock, part, settled?.state === 'steady' ? settled.ratio : undefined)
  const statedV = needVoltageV(part, ratio, die, load)
  return {
    run: record.name,
    definition: record.definition,
    ratio,
    voltageV: voltage,
    isMeasured: figures.voltage !== undefined,
    statedV,
    comparableV: voltage - (statedV - interpolateRows(part.needs, ratio)),
    end: outcome,
    what: outcome.kind === 'stopped' ? outcome.what : '',
  }
}

/** The rows of `known` with a clock and a voltage, each held for a while. */
export function knownTrials(definition: Definition, part: Part): readonly Trial[] {
  return knownPoints(definition)
    .filter(hasOperatingPoint)
    .flatMap(({ readings: { clock, voltage, die }, vector }): Trial[] => {
      if (clock === undefined || voltage === undefined) return []
      const ratio = ratioOf(clock.value, part)
      const statedV = needVoltageV(part, ratio, die?.value ?? part.needsAtC, { vector })
      return [
        {
          run: undefined,
          definition,
          ratio,
          voltageV: voltage.value,
          isMeasured: true,
          statedV,
          comparableV: voltage.value - (statedV - interpolateRows(part.needs, ratio)),
          end: { kind: 'held', forS: KNOWN_HELD_S },
          what: '',
        },
      ]
    })
}
