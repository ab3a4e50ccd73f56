/** Kinds `loop` and `air`: a radiator behind a block, and nothing between. */

import {
  type Coolant,
  type CoolantPlace,
  dutyAt,
  heatSlope,
  isBelowData,
  prepareCoolant,
  type RadiatorLaw,
  radiatorFlow,
  radiatorLaw,
  solveCoolant,
} from '../fan.ts'
import type { Corner, FanPoint, LoopCooler, Profile } from '../types.ts'
import { radiatedCoolantC, radiatedEnd } from './at-duty.ts'
import type { CurvePoint } from './curve.ts'
import { blockAt, radiatorAt } from './faults.ts'
import { heatAtOn } from './heat-at.ts'
import {
  type CoolerCurve,
  type CoolerFigures,
  type CoolerModel,
  type CoolerNotes,
  type CoolerSide,
  LEAST_BLOCK_K_PER_W,
  noDrive,
  unnoted,
} from './kind.ts'
import { bends, cutStretches, type Stretch } from './stretches.ts'

const place: CoolantPlace = { overAirK: 0, piece: undefined }
const ends: CurvePoint = { plateC: 0, slopeKPerW: 0 }

class RadiatedCurve implements CoolerCurve {
  readonly heldToW = undefined
  readonly linear: boolean
  readonly lineC: number
  readonly lineKPerW: number
  readonly convex: boolean
  private readonly slopeCap: number
  private readonly coolant: Coolant
  private readonly blockKPerW: number
  private readonly stretches: readonly Stretch[]
  private readonly law: RadiatorLaw
  private readonly fan: readonly FanPoint[]

  constructor(cooler: LoopCooler, fan: readonly FanPoint[], airC: number) {
    this.law = radiatorLaw(cooler.radiator)
    this.fan = fan
    this.coolant = prepareCoolant(this.law, fan, airC)
    this.blockKPerW = cooler.blockResistanceKPerW
    this.stretches = cutStretches(this.coolant, (piece, overAirK) => 1 / heatSlope(piece, overAirK) + this.blockKPerW)
    const { convex, slopeCap } = bends(this.coolant, this.stretches)
    this.convex = convex
    this.slopeCap = slopeCap
    const only = this.stretches[0]
    this.linear = this.coolant.constant && this.stretches.length === 1 && only !== undefined
    this.lineC = airC
    this.lineKPerW = this.linear && only !== undefined ? only.slopeStart : 0
  }

  begin(): void {
    // The look that is kept has the same answer in every prediction.
  }

  evaluate(heatW: number, out: CurvePoint): void {
    if (this.linear) {
      out.plateC = this.lineC + this.lineKPerW * heatW
      out.slopeKPerW = this.lineKPerW
      return
    }
    if (heatW === this.lastW) {
      out.plateC = this.lastC
      out.slopeKPerW = this.lastKPerW
      return
    }
    solveCoolant(this.coolant, heatW, place)
    const { overAirK, piece } = place
    out.plateC = this.coolant.airC + overAirK + this.blockKPerW * heatW
    // Below no heat, which only a margin asks about, the way goes on straight.
    out.slopeKPerW =
      piece === undefined ? Number.POSITIVE_INFINITY : 1 / heatSlope(piece, Math.max(0, overAirK)) + this.blockKPerW
    this.lastW = heatW
    this.lastC = out.plateC
    this.lastKPerW = out.slopeKPerW
  }
  /** The heat last looked at, and its answer: a search looks at the place where it stands once more for its slope. */
  private lastW = Number.NaN
  private lastC = 0
  private lastKPerW = 0

  slopeLow(fromW: number, toW: number): number {
    let low = Number.POSITIVE_INFINITY
    for (const stretch of this.stretches) {
      if (stretch.endW <= fromW) continue
      if (stretch.startW >= toW) break
      let slope: number
      if (stretch.slopeStart === stretch.slopeEnd) slope = stretch.slopeStart
      else if (stretch.convex) slope = fromW > stretch.startW ? this.slopeAt(fromW) : stretch.slopeStart
      else slope = toW < stretch.endW ? this.slopeAt(toW) : stretch.slopeEnd
      if (slope < low) low = slope
    }
    return low
  }

  slopeHigh(): number {
    return this.slopeCap
  }

  private slopeAt(heatW: number): number {
    this.evaluate(heatW, ends)
    return ends.slopeKPerW
  }

  heatAt(packageKPerW: number, temperatureC: number): number {
    return heatAtOn(this, packageKPerW, temperatureC)
  }

  figuresAt(heatW: number): CoolerFigures {
    this.evaluate(heatW, ends)
    const { plateC } = ends
    const coolantC = plateC - this.blockKPerW * heatW
    const fanPct = dutyAt(this.fan, coolantC)
    const fanBelowData = isBelowData(this.law, fanPct)
    return { plateC, coolantC, fanPct, fanBelowData, driveA: null, driveW: null, driveV: null }
  }

  notesAt(): CoolerNotes {
    return unnoted
  }
}

function sideOf(cooler: LoopCooler, { fan }: Pick<Profile, 'fan'>, { airC }: Corner): CoolerSide {
  const law = radiatorLaw(cooler.radiator)
  const blockKPerW = Math.max(cooler.blockResistanceKPerW, LEAST_BLOCK_K_PER_W)
  const flow = { heatW: 0, slopeWPerK: 0 }
  return {
    coolantHeatJPerK: cooler.coolantHeatJPerK,
    flowAt: (plateC, coolantC, out, wantsSlopes) => {
      radiatorFlow(law, fan, airC, coolantC, flow, wantsSlopes)
      out.takenW = (plateC - coolantC) / blockKPerW
      out.storedW = out.takenW - flow.heatW
      if (!wantsSlopes) return
      out.takenByPlate = 1 / blockKPerW
      out.takenByCoolant = -1 / blockKPerW
      out.storedByPlate = 1 / blockKPerW
      out.storedByCoolant = -1 / blockKPerW - flow.slopeWPerK
    },
    coolantC: (_plateC, coolantC) => coolantC,
    hold: () => undefined,
    meanA: () => 0,
    inputW: () => 0,
  }
}

export const radiated: CoolerModel<LoopCooler> = {
  curve: (cooler, profile, corner, sibling) => sibling ?? new RadiatedCurve(cooler, profile.fan, corner.airC),
  side: sideOf,
  drive: () => noDrive,
  faults: ['pump', 'fan', 'radiator'],
  faulty: (cooler, faults) => ({
    ...cooler,
    blockResistanceKPerW: blockAt(cooler, faults),
    radiator: radiatorAt(cooler.radiator, faults),
  }),
  isDrivenOff: () => false,
  driveLagS: () => 0,
  isCoolantHeld: false,
  coolantHeatJPerK: ({ coolantHeatJPerK }) => coolantHeatJPerK,
  coolantC: ({ radiator }, airC, duty, heatW) => radiatedCoolantC(radiator, airC, duty, heatW),
  end: ({ radiator }) => radiatedEnd(radiator),
}

/** Kind `air`: nothing is pumped. */
export const aired: CoolerModel<LoopCooler> = {
  ...radiated,
  faults: ['fan', 'radiator'],
  faulty: (cooler, faults) => ({ ...cooler, radiator: radiatorAt(cooler.radiator, faults) }),
}
