import { type Bench, emptyPoint, prepareCurve } from '../../model/index.ts'
import { drivenPlate } from '../../semantic/coolers/index.ts'
import { driveText, shareOf } from '../../semantic/drives.ts'
import { type EnvelopePoint, pointsWhileOn, worstPoint } from '../../semantic/envelope.ts'
import { currentText, differenceText, percentText, plain, temperatureText } from '../../wording/figures.ts'
import { pointWords } from '../../wording/places.ts'
import { setWhole } from '../support/physics-edits.ts'
import { keyPlace, originOf } from '../support/physics-rows.ts'
import type { Check } from '../types.ts'

/** Share of the cooling that pulses may cost before it is said. */
const tolerated = 0.1

/** Temperature of the plate at the heat of a point with no current through its modules. */
function undrivenC(bench: Bench, { settled, corner }: EnvelopePoint): number {
  const curve = prepareCurve(bench.cooler, { ...bench.profile, drive: { kind: 'off' } }, corner)
  const at = emptyPoint()
  curve.evaluate(settled.powerW ?? 0, at)
  return at.plateC
}

/** Which share of the cooling by smooth current of the same mean the pulses cost; undefined where they cost none. */
function costAt(bench: Bench, point: EnvelopePoint): number | undefined {
  const { plateC, notes } = point.settled
  const smoothC = notes.plate?.smoothPlateC
  if (plateC === null || smoothC === undefined || !(plateC > smoothC + 1e-6)) return undefined
  const cooledK = undrivenC(bench, point) - smoothC
  return cooledK > 0 && Number.isFinite(cooledK) ? (plateC - smoothC) / cooledK : undefined
}

export const pulseLoss: Check = {
  code: 'pulse-loss',
  severity: 'warning',
  title: 'Pulses that cost much of the cooling',
  page: {
    what: 'Under `drive pulsed`: the plate against the plate under smooth current of the same mean, at the same heat, for every load in every corner. A loss of more than a tenth of the cooling is reported.',
    why: 'A module pumps by the current and heats by its square: the same mean in pulses pumps as much and heats more, on both of its sides. The supply works harder for a warmer plate.',
    remedy:
      'A smoothing filter between supply and modules, pulses of less height for more of the time, or a supply of smooth current. Filters of this size store energy: build them as local codes and licensed practice ask.',
    example:
      'profile daily {\n  cooler te-plate\n  drive pulsed 40 %                     # 7 A for 40 % of the time: 2.8 A in the mean\n}',
  },
  *inProfile(evaluation) {
    const { bench } = evaluation.input
    const plate = bench && drivenPlate(bench.cooler)
    if (bench === undefined || plate === undefined) return
    const share = shareOf(bench.profile.drive)
    if (share === 1) return
    const points = pointsWhileOn(evaluation)
    const found = worstPoint(points, point => {
      const cost = costAt(bench, point)
      return cost !== undefined && cost > tolerated * (1 + 1e-6) ? cost : undefined
    })
    if (found === undefined) return
    const { point, value } = found
    const { plateC, driveA, notes } = point.settled
    const meanA = share * plate.driveCurrentA
    const line = `drive fixed ${plain(Number(meanA.toFixed(2)))} A`
    const edit = setWhole(evaluation.profile, evaluation.profile.key('drive'), undefined, line)
    const smoothC = notes.plate?.smoothPlateC ?? 0
    yield {
      at: keyPlace(evaluation, 'drive', 'cooler'),
      ...originOf(evaluation, point),
      message: `Pulses cost ${percentText(100 * value)} of the cooling that smooth current gives: \`drive ${driveText(bench.profile.drive)}\`, for ${pointWords(point)}. The plate stands at ${temperatureText(plateC ?? 0)}, ${differenceText((plateC ?? 0) - smoothC)} warmer than with ${currentText(driveA ?? 0)} of smooth current, their mean. Smooth the supply, or make the pulses lower and longer.`,
      fixes: edit === undefined ? [] : [{ title: `Write \`${line}\`, for a supply of smooth current`, edits: [edit] }],
    }
  },
}
