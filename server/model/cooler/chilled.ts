/** Kind `chilled`: coolant that a chiller holds up to its capacity. */

import { dutyAt } from '../fan.ts'
import type { ChilledCooler, FanPoint } from '../types.ts'
import type { CurvePoint } from './curve.ts'
import { blockAt } from './faults.ts'
import { heatAtOn } from './heat-at.ts'
import {
  type CoolerCurve,
  type CoolerEnd,
  type CoolerFigures,
  type CoolerModel,
  type CoolerNotes,
  type CoolerSide,
  LEAST_BLOCK_K_PER_W,
  noDrive,
  unnoted,
} from './kind.ts'

/** The coolant with so much more heat than the capacity: all of this file takes it from here. */
const beyondC = ({ coolantC, beyondKPerW }: ChilledCooler, moreW: number): number => coolantC + beyondKPerW * moreW

/** The coolant at a heat into it: held up to the capacity. */
const coolantAt = (cooler: ChilledCooler, heatW: number): number =>
  beyondC(cooler, Math.max(0, heatW - cooler.capacityW))

/**
 * The coolant as the plate sees it: held through the block alone; beyond the capacity, where it warms with the heat, a
 * point that no heat would bring, through both resistances (model section 10).
 */
function seenFromPlate(cooler: ChilledCooler) {
  const { coolantC: heldC, capacityW } = cooler
  const blockKPerW = Math.max(cooler.blockResistanceKPerW, LEAST_BLOCK_K_PER_W)
  return {
    heldC,
    originBeyondC: beyondC(cooler, -capacityW),
    blockKPerW,
    isBeyond: (plateC: number): boolean => plateC - heldC > capacityW * blockKPerW,
  }
}

class ChilledCurve implements CoolerCurve {
  readonly heldToW = undefined
  readonly linear = false
  readonly lineC = 0
  readonly lineKPerW = 0
  readonly convex: boolean
  private readonly cooler: ChilledCooler
  private readonly fan: readonly FanPoint[]

  constructor(cooler: ChilledCooler, fan: readonly FanPoint[]) {
    this.cooler = cooler
    this.fan = fan
    this.convex = cooler.beyondKPerW >= 0
  }

  begin(): void {
    // Nothing is kept from look to look.
  }

  evaluate(heatW: number, out: CurvePoint): void {
    const { capacityW, beyondKPerW, blockResistanceKPerW } = this.cooler
    out.plateC = coolantAt(this.cooler, heatW) + blockResistanceKPerW * heatW
    out.slopeKPerW = blockResistanceKPerW + (heatW >= capacityW ? beyondKPerW : 0)
  }

  slopeLow(fromW: number): number {
    const { capacityW, beyondKPerW, blockResistanceKPerW } = this.cooler
    return blockResistanceKPerW + (fromW >= capacityW ? beyondKPerW : Math.min(0, beyondKPerW))
  }

  slopeHigh(): number {
    const { beyondKPerW, blockResistanceKPerW } = this.cooler
    return blockResistanceKPerW + Math.max(0, beyondKPerW)
  }

  heatAt(packageKPerW: number, temperatureC: number): number {
    return heatAtOn(this, packageKPerW, temperatureC)
  }

  figuresAt(heatW: number): CoolerFigures {
    const point = { plateC: 0, slopeKPerW: 0 }
    this.evaluate(heatW, point)
    const coolantC = coolantAt(this.cooler, heatW)
    return {
      plateC: point.plateC,
      coolantC,
      fanPct: dutyAt(this.fan, coolantC),
      fanBelowData: false,
      driveA: null,
      driveW: null,
      driveV: null,
    }
  }

  notesAt(): CoolerNotes {
    return unnoted
  }
}

function sideOf(cooler: ChilledCooler): CoolerSide {
  const { beyondKPerW } = cooler
  const { heldC, originBeyondC, blockKPerW, isBeyond } = seenFromPlate(cooler)
  const warmed = (plateC: number): number =>
    isBeyond(plateC) ? (blockKPerW * originBeyondC + beyondKPerW * plateC) / (blockKPerW + beyondKPerW) : heldC
  return {
    coolantHeatJPerK: 1,
    flowAt: (plateC, _coolantC, out) => {
      out.takenW = (plateC - warmed(plateC)) / blockKPerW
      out.takenByPlate = 1 / (blockKPerW + (isBeyond(plateC) ? beyondKPerW : 0))
      out.takenByCoolant = out.storedW = out.storedByPlate = out.storedByCoolant = 0
    },
    coolantC: warmed,
    hold: () => undefined,
    meanA: () => 0,
    inputW: () => 0,
  }
}

function endOf(cooler: ChilledCooler): CoolerEnd {
  const { beyondKPerW, capacityW } = cooler
  const { heldC, originBeyondC, blockKPerW, isBeyond } = seenFromPlate(cooler)
  return {
    endC: (_airC, plateC, heatW) =>
      (Number.isNaN(plateC) ? heatW > capacityW : isBeyond(plateC)) ? originBeyondC : heldC,
    endKPerW: endC => blockKPerW + (endC < heldC ? beyondKPerW : 0),
  }
}

export const chilled: CoolerModel<ChilledCooler> = {
  curve: (cooler, profile, _corner, sibling) => sibling ?? new ChilledCurve(cooler, profile.fan),
  side: sideOf,
  drive: () => noDrive,
  faults: ['pump', 'chiller'],
  faulty: (cooler, faults) => ({
    ...cooler,
    blockResistanceKPerW: blockAt(cooler, faults),
    capacityW: (cooler.capacityW * faults.chillerPct) / 100,
  }),
  isDrivenOff: () => false,
  driveLagS: () => 0,
  isCoolantHeld: true,
  coolantHeatJPerK: () => undefined,
  coolantC: (cooler, _airC, _duty, heatW) => coolantAt(cooler, heatW),
  end: endOf,
}
