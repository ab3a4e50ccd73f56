/** What was tried of a part's voltage: runs that say how they ended, and points that were seen to run. */
import {
  activeGroups,
  interpolateRows,
  isWork,
  needVoltageV,
  type Part,
  partOfGroup,
  type WorkLoad,
} from '../../model/index.ts'
import type { Definition } from '../../semantic/definitions.ts'
import { hasOperatingPoint, knownPoints, leadOf } from '../../semantic/known.ts'
import type { Figure } from '../log/figures.ts'
import { bestValue, type ComparedRun } from '../run/compared.ts'
import type { Outcome } from '../run/record.ts'
import type { VoltageTrial } from './hazard.ts'
import { PRIOR_SPREAD_V } from './prior.ts'

/** One trial: at which ratio and die voltage the machine held or stopped. */
export interface Trial extends VoltageTrial {
  /** The run; undefined for a row of `known`. */
  readonly run: string | undefined
  /** The group of cores that it is a trial of; absent where all are alike. */
  readonly group?: string
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

/** Where a run ran, for one kind of cores. */
interface Ran {
  /** The part as if its cores were all of that kind. */
  readonly part: Part
  readonly ratio: number
  readonly voltageV: number
  readonly isMeasured: boolean
  readonly statedV: number
}

/** A run as trials, one of each group of cores that was at work; none where it does not say how it ended. */
export function trialsOf(run: ComparedRun, part: Part): readonly (Trial | NoTrial)[] {
  const { record, predicted } = run
  const { outcome } = record
  if (outcome === undefined) return []
  const none = (why: string): readonly NoTrial[] => [{ run: record.name, definition: record.definition, why }]
  const load = predicted?.load.load
  if (load === undefined) return none(run.cannot ?? 'it cannot be predicted')
  if (!isWork(load)) return none('no core was at work')
  const die = bestValue(run, 'die')
  const ran = activeGroups(part, load).flatMap(({ index }) => ranOf(run, part, index, die, load) ?? [])
  if (die === undefined || ran.length === 0) return none('there is no clock, voltage or die temperature of it')
  const other = otherEnd(outcome, die, part)
  if (other !== undefined) return none(other)
  const meant = outcome.kind === 'held' ? ran : shortest(ran)
  if (meant.length === 0)
    return none('cores of several groups were at work, and it may have been any of them: run one group alone')
  return meant.map(({ part: own, ratio, voltageV, isMeasured, statedV }): Trial => {
    const group = 'name' in own && part.groups !== undefined ? (own.name as string) : undefined
    return {
      run: record.name,
      definition: record.definition,
      ...(group === undefined ? {} : { group }),
      ratio,
      voltageV,
      isMeasured,
      statedV,
      comparableV: voltageV - (statedV - interpolateRows(own.needs, ratio)),
      end: outcome,
      what: outcome.kind === 'stopped' ? outcome.what : '',
    }
  })
}

/** A stop is the voltage's of the group that has least to spare, where every other has so much more: twice the prior's spread. */
const APART_V = 2 * PRIOR_SPREAD_V

function shortest(ran: readonly Ran[]): readonly Ran[] {
  const spare = ({ voltageV, statedV }: Ran): number => voltageV - statedV
  const [least, next] = ran.toSorted((a, b) => spare(a) - spare(b))
  if (least === undefined) return []
  return next !== undefined && spare(next) - spare(least) < APART_V ? [] : [least]
}

/** @param index of the group; of a part whose cores are alike 0 */
function ranOf(run: ComparedRun, part: Part, index: number, die: number | undefined, load: WorkLoad): Ran | undefined {
  const { predicted, figures } = run
  const { settled } = predicted ?? {}
  const own = partOfGroup(part, index)
  const named = part.groups?.[index]
  const isLead = activeGroups(part, load)[0]?.index === index
  let clock: Figure = 'clock'
  let voltage: Figure = 'voltage'
  if (named !== undefined) {
    if (!isLead || figures[`clock ${named.name}`] !== undefined) clock = `clock ${named.name}`
    const onRail = part.groups?.filter(({ rail }) => rail === named.rail).map(({ name }) => name) ?? []
    const read = [named.name, ...onRail].find(name => figures[`voltage ${name}`] !== undefined)
    const isLeadRail = onRail.includes(part.groups?.[activeGroups(part, load)[0]?.index ?? 0]?.name ?? '')
    if (read !== undefined) voltage = `voltage ${read}`
    else if (!isLeadRail) voltage = `voltage ${named.name}`
  }
  const [clockGhz, voltageV] = [bestValue(run, clock), bestValue(run, voltage)]
  if (clockGhz === undefined || voltageV === undefined || die === undefined) return undefined
  const at = named === undefined ? settled : settled?.groups?.[index]
  const ratio = ratioOf(clockGhz, own, settled?.state === 'steady' ? at?.ratio : undefined)
  const statedV = needVoltageV(own, ratio, die, load)
  return { part: own, ratio, voltageV, isMeasured: figures[voltage] !== undefined, statedV }
}

/** The rows of `known` with a clock and a voltage, each held for a while. */
export function knownTrials(definition: Definition, whole: Part): readonly Trial[] {
  return knownPoints(definition)
    .filter(hasOperatingPoint)
    .flatMap((point): Trial[] => {
      const { clock, voltage, die } = point.readings
      const { vector } = point
      if (clock === undefined || voltage === undefined) return []
      // Its clock and voltage are those of its first group at work.
      const group = whole.groups && leadOf(point, whole.groups)?.name
      const part = partOfGroup(whole, whole.groups?.findIndex(({ name }) => name === group) ?? 0)
      const ratio = ratioOf(clock.value, part)
      const statedV = needVoltageV(part, ratio, die?.value ?? part.needsAtC, { vector })
      return [
        {
          run: undefined,
          definition,
          ...(group === undefined ? {} : { group }),
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
