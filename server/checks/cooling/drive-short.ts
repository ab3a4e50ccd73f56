import { onceFor } from '../../../grammar/once.ts'
import { type Bench, isOn, type SettledState, settleState } from '../../model/index.ts'
import type { ThermoelectricCooler } from '../../model/types.ts'
import { drivenPlate } from '../../semantic/coolers/index.ts'
import { driveText, hasSupply } from '../../semantic/drives.ts'
import { type EnvelopePoint, onceAmong, worstPoint } from '../../semantic/envelope.ts'
import { currentText, differenceText, statedText, temperatureText } from '../../wording/figures.ts'
import { pointWords } from '../../wording/places.ts'
import { deciderWords } from '../support/deciders.ts'
import { keyPlace, originOf } from '../support/physics-rows.ts'
import type { Check, Severity } from '../types.ts'

interface Short {
  readonly badness: number
  readonly severity: Severity
  /**
   * What is asked for and not given, and what to do; undefined where another settling shows that it is no shortfall. Asked for
   * the worst point, most often alone.
   */
  readonly words: () => string | undefined
}

/** A supply that keeps its voltage, and is stopped by a limit on the way. */
function boundSupply(
  bench: Bench,
  plate: ThermoelectricCooler,
  { settled }: Pick<EnvelopePoint, 'settled'>,
): Short | undefined {
  const { notes, plateC } = settled
  const by = notes.plate?.boundBy
  if (notes.plate === null || plateC === null || (by !== 'drive-current' && by !== 'supply-limit')) return undefined
  const { flowingA } = notes.plate
  const limit =
    by === 'supply-limit'
      ? `\`supply-limit ${statedText(plate.supplyLimitA ?? 0, 'A')}\``
      : `\`drive-current ${statedText(plate.driveCurrentA, 'A')}\``
  return {
    badness: settled.powerW ?? 0,
    severity: 'warning',
    words: () =>
      `Voltage not reached: \`drive ${driveText(bench.profile.drive)}\` is held at ${currentText(flowingA)} a module by ${limit}, and the plate stands at ${temperatureText(plateC)}. The supply lowers its own voltage there; turning its knob up changes nothing. Set less voltage, or raise the limit as far as the makers of supply and modules allow.`,
  }
}

/** A current that the supply of the plate cannot give, whatever asks for it. */
function beyondSupply(
  bench: Bench,
  plate: ThermoelectricCooler,
  { settled }: Pick<EnvelopePoint, 'settled'>,
): Short | undefined {
  const drawnA = settled.notes.plate?.supplyA
  const { supplyLimitA } = plate
  if (drawnA === undefined || supplyLimitA === undefined || !(drawnA > supplyLimitA * (1 + 1e-6))) return undefined
  return {
    badness: drawnA - supplyLimitA,
    severity: 'warning',
    words: () =>
      `Supply too weak: \`drive ${driveText(bench.profile.drive)}\` takes ${currentText(drawnA)}, more than \`supply-limit ${statedText(supplyLimitA, 'A')}\`. The plate will be warmer than predicted. Lower \`drive-current\`, wire more modules in series, or take a stronger supply.`,
  }
}

/** The same bench with eight times the current, prepared once for all points. */
const strongerOf = onceFor((bench: Bench): Bench => {
  const plate = drivenPlate(bench.cooler)
  return plate === undefined ? bench : { ...bench, cooler: { ...plate, driveCurrentA: 8 * plate.driveCurrentA } }
})

/** A target that more current would reach, were it not for `drive-current`. */
function beyondCurrent(bench: Bench, plate: ThermoelectricCooler, point: EnvelopePoint): Short | undefined {
  const { notes, plateC } = point.settled
  const targetC = notes.plate?.targetC
  if (targetC == null || plateC === null || notes.plate?.isTargetMissed !== true) return undefined
  if (notes.plate.flowingA < plate.driveCurrentA * (1 - 1e-9)) return undefined
  const isFine = (settled: SettledState): boolean => settled.notes.plate?.isTargetMissed === false
  const neededA = (): number | null => {
    // So much current is past the coldest of any module; the drive never goes beyond that.
    const reached = settleState(strongerOf(bench), point.load, point.corner)
    return reached !== null && isFine(reached) ? reached.driveA : null
  }
  return {
    badness: plateC - targetC,
    severity: 'information',
    words: () => {
      const enoughA = neededA()
      if (enoughA === null) return undefined
      return `Target missed, too little current: \`drive-current ${statedText(plate.driveCurrentA, 'A')}\` leaves the plate ${differenceText(plateC - targetC)} above the ${temperatureText(targetC)} that \`drive ${driveText(bench.profile.drive)}\` asks for; ${currentText(enoughA)} would reach it.${deciderWords(bench, point, isFine)} Raise it only as far as the makers of modules and supply allow.`
    },
  }
}

/** What of the supply itself is too weak at a point; what more current would reach is another matter. */
export function weakSupplyAt(
  bench: Bench,
  plate: ThermoelectricCooler,
  point: Pick<EnvelopePoint, 'settled'>,
): Short | undefined {
  return hasSupply(bench.profile.drive) ? boundSupply(bench, plate, point) : beyondSupply(bench, plate, point)
}

/** What of the supply falls short at a point. */
function shortAt(bench: Bench, plate: ThermoelectricCooler, point: EnvelopePoint): Short | undefined {
  const weak = weakSupplyAt(bench, plate, point)
  return weak ?? (hasSupply(bench.profile.drive) ? undefined : beyondCurrent(bench, plate, point))
}

/** The worst of them, in words, where there is one. */
const shortAmong = onceAmong((bench, points) => {
  const plate = drivenPlate(bench.cooler)
  if (plate === undefined) return undefined
  const shorts = new Map<EnvelopePoint, Short>()
  for (const point of points) {
    const short = isOn(point.load) ? shortAt(bench, plate, point) : undefined
    if (short !== undefined) shorts.set(point, short)
  }
  for (;;) {
    const found = worstPoint([...shorts.keys()], point => shorts.get(point)?.badness)
    const short = found && shorts.get(found.point)
    if (found === undefined || short === undefined) return undefined
    const { point } = found
    const words = short.words()
    if (words !== undefined) return { point, severity: short.severity, words }
    shorts.delete(point)
  }
})

export const driveShort: Check = {
  code: 'drive-short',
  severity: 'warning',
  title: 'The supply of the plate cannot give what is asked of it',
  page: {
    what: 'The current that the drive of the profile asks for against what is available, for every load in every corner: a voltage of `drive supply` that `drive-current` or `supply-limit` stops, any other drive that takes more than `supply-limit`, and, as information, a target of `drive dew` or `drive hold` that more than `drive-current` would reach.',
    why: 'A supply at its limit no longer does what its knob says: the plate is warmer than it was meant to be under load, and turning the knob changes nothing.',
    remedy:
      'Less voltage, another wiring, a stronger supply; or a target that can be held. A supply of this size is a matter for local codes: stay within its rating and that of the leads.',
    example:
      'cooler te-plate kind thermoelectric {\n  supply-limit 4 A                      # 40 V would drive all 7 A\n}\nprofile daily {\n  drive supply 40 V\n}',
  },
  *inProfile(evaluation) {
    const found = shortAmong(evaluation)
    if (found === undefined) return
    const { point, severity, words } = found
    yield {
      at: keyPlace(evaluation, 'drive', 'cooler'),
      ...originOf(evaluation, point),
      severity,
      message: `${words} That is for ${pointWords(point)}.`,
    }
  },
}
