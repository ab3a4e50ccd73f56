/** Kind `thermoelectric`: driven modules between the plate and a radiator's loop. */

import { dutyAt, isBelowData, prepareCoolant, type RadiatorLaw, radiatorFlow, radiatorLaw } from '../../fan.ts'
import { wetPointC } from '../../humidity.ts'
import type { Corner, Drive, PlateNotes, Profile, ThermoelectricCooler } from '../../types.ts'
import { radiatedCoolantC, radiatedEnd } from '../at-duty.ts'
import { type CurvePoint, RUNAWAY_C } from '../curve.ts'
import { blockAt, radiatorAt } from '../faults.ts'
import {
  type CoolerCurve,
  type CoolerFigures,
  type CoolerModel,
  type CoolerNotes,
  type CoolerSide,
  type DriveRule,
  LEAST_BLOCK_K_PER_W,
  noDrive,
} from '../kind.ts'
import { coldestAt } from './coldest.ts'
import { createCurrentTable } from './current-table.ts'
import { DrivenCurve, emptyState, type PlateState } from './driven.ts'
import { type Field, stateOf } from './held.ts'
import { inputW } from './module.ts'
import { currentForTarget, hotSideAt } from './over-time.ts'
import { sectionsOf } from './path.ts'
import { emptyFlows, flowsUnder, lawOf, stackOf, wiringOf } from './stack.ts'
import { TargetCurve } from './target.ts'

type Set = Pick<Profile, 'fan' | 'drive'>

/** Below this a target counts as reached. */
const TARGET_TOLERANCE_K = 1e-6

/** Share of the time that current flows. */
const dutyOf = (drive: Drive): number => (drive.kind === 'pulsed' ? drive.dutyShare : 1)

function fieldOf(cooler: ThermoelectricCooler, { fan, drive }: Set, airC: number): Field {
  const coolant = prepareCoolant(radiatorLaw(cooler.radiator), fan, airC)
  return {
    stack: stackOf(cooler, airC, dutyOf(drive)),
    sections: sectionsOf(coolant, cooler.blockResistanceKPerW),
    limitA: cooler.driveCurrentA,
    airC,
  }
}

class ThermoelectricCurve implements CoolerCurve {
  readonly cooler: ThermoelectricCooler
  readonly set: Set
  readonly field: Field
  /** The plate under the drive. */
  readonly plate: DrivenCurve | TargetCurve
  readonly linear: boolean
  readonly lineC: number
  readonly lineKPerW: number
  readonly convex = false
  readonly heldToW: number | undefined
  private readonly law: RadiatorLaw

  constructor(cooler: ThermoelectricCooler, set: Set, corner: Corner, sibling: ThermoelectricCurve | undefined) {
    const { drive } = set
    const { airC, humidityPct } = corner
    this.cooler = cooler
    this.set = set
    this.law = radiatorLaw(cooler.radiator)
    this.field = sibling?.field ?? fieldOf(cooler, set, airC)
    const { stack, sections } = this.field
    if (drive.kind === 'dew' || drive.kind === 'hold') {
      const before = sibling?.plate
      const idle =
        before instanceof TargetCurve
          ? before.idle
          : new DrivenCurve(stack, lawOf(cooler, { kind: 'off' }), sections, airC)
      const targetC = drive.kind === 'hold' ? drive.temperatureC : wetPointC(airC, humidityPct) + drive.marginK
      this.plate = new TargetCurve(this.field, idle, targetC)
      this.heldToW = this.plate.heldToW
    } else {
      this.plate = new DrivenCurve(stack, lawOf(cooler, drive), sections, airC)
      this.heldToW = undefined
    }
    this.linear = this.plate.linear
    this.lineC = this.plate.lineC
    this.lineKPerW = this.plate.lineKPerW
  }

  begin(): void {
    this.plate.begin()
  }

  evaluate(heatW: number, out: CurvePoint): void {
    this.plate.evaluate(heatW, out)
  }

  slopeLow(fromW: number, toW: number): number {
    return this.plate.slopeLow(fromW, toW)
  }

  slopeHigh(fromW: number, toW: number): number {
    return this.plate.slopeHigh(fromW, toW)
  }

  heatAt(packageKPerW: number, temperatureC: number): number {
    return this.plate.heatAt(packageKPerW, temperatureC)
  }

  /** The current at a heat: of pulses their height; the most there is where nothing is steady. */
  currentAt(heatW: number): number {
    return this.stateAt(heatW)?.currentA ?? this.field.limitA
  }

  private stateAt(heatW: number): PlateState | undefined {
    const { plate, field, state } = this
    if (heatW === this.stateW) return state
    const chosen = plate instanceof TargetCurve ? plate.chosen(heatW) : undefined
    if (chosen !== undefined) stateOf(field, chosen, state)
    else {
      const driven = (plate instanceof TargetCurve ? plate.idle : plate).at(heatW)
      if (driven === undefined) return undefined
      Object.assign(state, driven)
    }
    this.stateW = heatW
    return state
  }
  /** The plate at the heat that it was last asked for: figures and notes are of one. */
  private readonly state = emptyState()
  private stateW = Number.NaN

  private settledAt(heatW: number): PlateState {
    const state = this.stateAt(heatW)
    if (state === undefined) throw new RangeError('Figures are asked for where the plate is finite.')
    return state
  }

  figuresAt(heatW: number): CoolerFigures {
    const { cooler, field, set } = this
    const { airC } = field
    const state = this.settledAt(heatW)
    const { coldK, hotK, currentA } = state
    const coolantC = airC + state.coolantK
    const fanPct = dutyAt(set.fan, coolantC)
    return {
      plateC: this.isHeld(heatW) ? (this.plate as TargetCurve).targetC : airC + coldK,
      coolantC,
      fanPct,
      fanBelowData: isBelowData(this.law, fanPct),
      driveA: currentA * dutyOf(set.drive),
      driveW: inputW(cooler.modules, state, currentA, hotK - coldK) + this.leadsW(currentA),
      driveV: this.supplyV(state),
    }
  }

  notesAt(heatW: number): CoolerNotes {
    const { field } = this
    const { airC } = field
    const state = this.settledAt(heatW)
    const { coldK, hotK, currentA } = state
    const plate = this.plateNotes(heatW, state)
    const coldest = coldestAt(field, heatW, airC + coldK > RUNAWAY_C ? Math.min(coldK, this.plainK(heatW, 0)) : coldK)
    return {
      hotC: airC + hotK,
      coldestA: coldest?.currentA ?? currentA,
      coldestPlateC: airC + (coldest?.coldK ?? coldK),
      plate,
    }
  }

  private leadsW(currentA: number): number {
    return this.set.drive.kind === 'supply' ? leadsInputW(this.cooler, currentA) : 0
  }

  /** The voltage at the supply while the current flows, leads included. */
  private supplyV({ alpha, ohm, hotK, coldK, currentA }: PlateState): number {
    const { cooler } = this
    const duty = dutyOf(this.set.drive)
    const { series, parallel } = wiringOf(cooler)
    const ownV = (alpha / duty) * (hotK - coldK) + (currentA * ohm) / duty
    return series * ownV + (cooler.leadsOhm ?? 0) * (parallel * currentA)
  }

  private isHeld(heatW: number): boolean {
    const { plate } = this
    return plate instanceof TargetCurve && heatW > plate.idleToW && heatW <= plate.heldToW
  }

  private plateNotes(heatW: number, state: PlateState): PlateNotes {
    const { cooler, field, plate, set } = this
    const { airC, stack } = field
    const { coldK, hotK, currentA, alpha, ohm, k, boundBy } = state
    const duty = dutyOf(set.drive)
    const { parallel } = wiringOf(cooler)
    const targetC = plate instanceof TargetCurve ? plate.targetC : null
    const supplyA = parallel * currentA
    return {
      flowingA: currentA,
      boundBy:
        boundBy === 'drive-current' && supplyA < parallel * cooler.driveCurrentA * (1 - 1e-9)
          ? 'supply-limit'
          : boundBy,
      targetC,
      isTargetMissed: targetC !== null && airC + coldK > targetC + TARGET_TOLERANCE_K,
      supplyA,
      supplyV: this.supplyV(state),
      leadsW: this.leadsW(currentA),
      leakW: -stack.leakWPerK * coldK,
      meanC: airC + (coldK + hotK) / 2,
      seebeckVPerK: alpha / duty,
      resistanceOhm: ohm / duty,
      conductanceWPerK: k,
      smoothPlateC: duty === 1 ? airC + coldK : airC + this.plainK(heatW, currentA * duty),
    }
  }

  /** The plate over the air under smooth current. */
  private plainK(heatW: number, currentA: number): number {
    const { sections, airC } = this.field
    const smooth = new DrivenCurve(stackOf(this.cooler, airC), { kind: 'constant', currentA }, sections, airC)
    return smooth.at(heatW)?.coldK ?? Number.POSITIVE_INFINITY
  }
}

/** Heat of the leads between supply and modules, which warms no surface of the bench. */
function leadsInputW(cooler: ThermoelectricCooler, currentA: number): number {
  return (cooler.leadsOhm ?? 0) * (wiringOf(cooler).parallel * currentA) ** 2
}

function sideOf(cooler: ThermoelectricCooler, { fan, drive }: Set, { airC }: Corner): CoolerSide {
  const law = radiatorLaw(cooler.radiator)
  const duty = dutyOf(drive)
  const stack = stackOf(cooler, airC, duty)
  const flows = emptyFlows()
  const radiator = { heatW: 0, slopeWPerK: 0 }
  const held = { kind: 'constant' as const, currentA: 0 }
  const blockKPerW = Math.max(stack.blockKPerW, LEAST_BLOCK_K_PER_W)
  let hotK = 0
  return {
    coolantHeatJPerK: cooler.coolantHeatJPerK,
    flowAt: (plateC, coolantC, out, wantsSlopes) => {
      hotK = hotSideAt(stack, held, plateC - airC, coolantC - airC, hotK, flows)
      radiatorFlow(law, fan, airC, coolantC, radiator, wantsSlopes)
      out.takenW = flows.heatW
      out.storedW = flows.outW - radiator.heatW
      if (!wantsSlopes) return
      // T_h = T_w + θ_block · Q_out, whose Q_out follows T_h in turn.
      const hotByCoolant = 1 / (1 - stack.blockKPerW * flows.outByHot)
      const hotByPlate = stack.blockKPerW * flows.outByCold * hotByCoolant
      out.takenByPlate = flows.heatByCold + flows.heatByHot * hotByPlate
      out.takenByCoolant = flows.heatByHot * hotByCoolant
      out.storedByPlate = flows.outByCold + flows.outByHot * hotByPlate
      out.storedByCoolant = flows.outByHot * hotByCoolant - radiator.slopeWPerK
    },
    coolantC: (_plateC, coolantC) => coolantC,
    hold: currentA => {
      held.currentA = currentA
    },
    meanA: () => held.currentA * duty,
    inputW: (plateC, coolantC) => {
      hotK = hotSideAt(stack, held, plateC - airC, coolantC - airC, hotK, flows)
      const leadsW = drive.kind === 'supply' ? leadsInputW(cooler, held.currentA) : 0
      return inputW(cooler.modules, flows, held.currentA, hotK - (plateC - airC)) + leadsW
    },
    hotSide: {
      // Engineering judgement: the block on their hot side is taken to be like the plate on their cold one.
      heatJPerK: cooler.plateHeatJPerK,
      flowAt: (plateC, coolantC, hotC, out, wantsSlopes) => {
        flowsUnder(stack, held, plateC - airC, hotC - airC, flows)
        radiatorFlow(law, fan, airC, coolantC, radiator, wantsSlopes)
        const givenW = (hotC - coolantC) / blockKPerW
        out.takenW = flows.heatW
        out.takenByPlate = flows.heatByCold
        out.takenByCoolant = 0
        out.takenByHot = flows.heatByHot
        out.storedW = givenW - radiator.heatW
        out.storedByPlate = 0
        out.storedByCoolant = -1 / blockKPerW - radiator.slopeWPerK
        out.storedByHot = 1 / blockKPerW
        out.gainedW = flows.outW - givenW
        out.gainedByPlate = flows.outByCold
        out.gainedByCoolant = 1 / blockKPerW
        out.gainedByHot = flows.outByHot - 1 / blockKPerW
      },
      quasiC: (plateC, coolantC) => airC + hotSideAt(stack, held, plateC - airC, coolantC - airC, hotK, flows),
      inputW: (plateC, hotC) => {
        flowsUnder(stack, held, plateC - airC, hotC - airC, flows)
        const leadsW = drive.kind === 'supply' ? leadsInputW(cooler, held.currentA) : 0
        return inputW(cooler.modules, flows, held.currentA, hotC - plateC) + leadsW
      },
    },
  }
}

/** Under `dew` and `hold` the lower of the current that serves at rest and the one that holds the target as things now are. */
function driveOf(cooler: ThermoelectricCooler, { drive }: Set, { airC }: Corner, curve: CoolerCurve): DriveRule {
  if (drive.kind === 'off' || !(cooler.driveCurrentA > 0)) return noDrive
  const stack = stackOf(cooler, airC)
  const flows = emptyFlows()
  if (drive.kind !== 'dew' && drive.kind !== 'hold') {
    const law = lawOf(cooler, drive)
    if (law.kind === 'constant') return { isMoving: false, currentA: () => law.currentA }
    let hotK = 0
    return {
      isMoving: true,
      currentA: (_heatW, plateC, coolantC) => {
        hotK = hotSideAt(stack, law, plateC - airC, coolantC - airC, hotK, flows)
        return flows.currentA
      },
      currentBesideA: (_heatW, plateC, _coolantC, hotC) => {
        flowsUnder(stack, law, plateC - airC, hotC - airC, flows)
        return flows.currentA
      },
    }
  }
  if (!(curve instanceof ThermoelectricCurve && curve.plate instanceof TargetCurve)) return noDrive
  const limitA = cooler.driveCurrentA
  const targetK = curve.plate.targetC - airC
  let beforeA = 0
  const atRestA = createCurrentTable(heatW => curve.currentAt(heatW), curve.plate.idleToW, limitA)
  return {
    isMoving: true,
    currentA: (heatW, _plateC, coolantC) => {
      const nowA = currentForTarget(stack, limitA, targetK, coolantC - airC, heatW, flows, beforeA)
      beforeA = nowA
      return nowA === 0 ? 0 : Math.min(nowA, atRestA(heatW))
    },
  }
}

export const thermoelectric: CoolerModel<ThermoelectricCooler> = {
  curve: (cooler, profile, corner, sibling) => {
    const known = sibling instanceof ThermoelectricCurve ? sibling : undefined
    return known !== undefined && profile.drive.kind !== 'dew'
      ? known
      : new ThermoelectricCurve(cooler, profile, corner, known)
  },
  side: sideOf,
  drive: driveOf,
  faults: ['pump', 'fan', 'radiator', 'drive'],
  faulty: (cooler, faults) => ({
    ...cooler,
    blockResistanceKPerW: blockAt(cooler, faults),
    radiator: radiatorAt(cooler.radiator, faults),
  }),
  isDrivenOff: ({ driveWhenOff }) => driveWhenOff,
  driveLagS: ({ driveLagS }) => driveLagS ?? 0,
  isCoolantHeld: false,
  coolantHeatJPerK: ({ coolantHeatJPerK }) => coolantHeatJPerK,
  coolantC: ({ radiator }, airC, duty, heatW) => radiatedCoolantC(radiator, airC, duty, heatW),
  end: ({ radiator }) => radiatedEnd(radiator),
}
