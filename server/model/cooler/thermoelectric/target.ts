/** A plate driven to a target: without current while it is cold enough, then held there, then as cold as it gets. */

import type { CurvePoint, PlateCurve } from '../curve.ts'
import { ColdestCurve, coldestAt } from './coldest.ts'
import type { DrivenCurve } from './driven.ts'
import { type Chosen, type Field, HeldPlate } from './held.ts'

export class TargetCurve implements PlateCurve {
  readonly kind = 'target'
  readonly linear = false
  readonly lineC = 0
  readonly lineKPerW = 0
  readonly convex = false
  readonly field: Field
  readonly targetC: number
  /** Up to this heat the plate is at or below the target without current. */
  readonly idleToW: number
  /** Up to this heat some current reaches the target. */
  readonly heldToW: number
  /** The plate without current. */
  readonly idle: DrivenCurve
  private readonly held: HeldPlate
  private readonly coldest: ColdestCurve | undefined

  constructor(field: Field, idle: DrivenCurve, targetC: number) {
    const targetK = targetC - field.airC
    this.field = field
    this.targetC = targetC
    this.idle = idle
    this.held = new HeldPlate(field, targetK)
    // A target that no current reaches even without heat: the curve begins at the coldest plate there is.
    const coldestK = this.held.toW >= 0 ? targetK : Math.max(targetK, coldestAt(field, 0, 0)?.coldK ?? 0)
    this.coldest = field.limitA > 0 ? new ColdestCurve(field, coldestK) : undefined
    this.idleToW = idle.heatAt(0, targetC)
    this.heldToW = field.limitA > 0 ? Math.max(this.idleToW, this.held.toW) : this.idleToW
  }

  /** The current that the rule chooses at a heat; undefined where it chooses none, or where nothing is steady. */
  chosen(heatW: number): Chosen | undefined {
    if (heatW <= this.idleToW) return undefined
    return heatW <= this.heldToW ? this.held.at(heatW) : this.coldest?.at(heatW)
  }

  /** The plate beyond what is held: as cold as can be, which without current to choose is the plate as it is. */
  private get beyond(): PlateCurve {
    return this.coldest ?? this.idle
  }

  begin(): void {
    this.idle.begin()
    this.coldest?.begin()
  }

  evaluate(heatW: number, out: CurvePoint): void {
    if (heatW <= this.idleToW) this.idle.evaluate(heatW, out)
    else if (heatW <= this.heldToW) {
      out.plateC = this.targetC
      out.slopeKPerW = 0
    } else this.beyond.evaluate(heatW, out)
  }

  slopeLow(fromW: number, toW: number): number {
    if (fromW < this.heldToW && toW > this.idleToW && this.heldToW > this.idleToW) return 0
    return toW <= this.idleToW ? this.idle.slopeLow(fromW, toW) : this.beyond.slopeLow(fromW, toW)
  }

  slopeHigh(fromW: number, toW: number): number {
    const { idleToW, heldToW } = this
    const idle = fromW < idleToW ? this.idle.slopeHigh(fromW, Math.min(toW, idleToW)) : 0
    return toW > heldToW ? Math.max(idle, this.beyond.slopeHigh(Math.max(fromW, heldToW), toW)) : idle
  }

  heatAt(packageKPerW: number, temperatureC: number): number {
    const { targetC, idleToW, heldToW } = this
    if (temperatureC >= targetC + packageKPerW * heldToW) return this.beyond.heatAt(packageKPerW, temperatureC)
    if (temperatureC < targetC + packageKPerW * idleToW) return this.idle.heatAt(packageKPerW, temperatureC)
    return Math.min(heldToW, (temperatureC - targetC) / packageKPerW)
  }
}
