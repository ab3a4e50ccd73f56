/** How often a clock goes back and forth at a band, followed from where the load settles (model section 10). */

import { createDrive } from '../cooler/index.ts'
import { prepareBench, prepareCorner, prepareLoad, type WorkLoad } from '../prepare.ts'
import { settledRiseK } from '../settled-groups.ts'
import type { Bench, Corner, SettledFigures } from '../types.ts'
import { type Decision, freshState } from './control.ts'
import { COOLANT, createNetwork, DIE, ENERGY, PLATE, SENSED, STATE_SIZE } from './network.ts'
import { createStepper, nextStep } from './rodas.ts'
import { forgetOf, DEFAULT_TICK_S as TICK_S, workController } from './simulate.ts'

const tolerances = { relative: 1e-7, absolute: 1e-7 }
/** The first times after the start, which is a mean and no moment of a real run, are not counted. */
const SKIPPED = 1
const COUNTED = 3

/**
 * The mean time in s from one drop of the clock to the next, of a load that alternates at a band; undefined where it takes
 * longer than `mostS`.
 * @param settled what the load settles at, with power and temperatures
 */
export function bandPeriodS(
  bench: Bench,
  load: WorkLoad,
  corner: Corner,
  settled: SettledFigures,
  mostS: number,
): number | undefined {
  const { dieC, plateC, powerW } = settled
  if (dieC === null || plateC === null || powerW === null) return undefined
  const prepared = prepareBench(bench)
  const cornered = prepareCorner(prepared, corner)
  const network = createNetwork(bench, load, corner)
  const { controller, setVsOf } = workController(prepared, load, cornered, corner, freshState(prepared))
  const stepper = createStepper(network, tolerances)
  const drive = createDrive(bench.cooler, bench.profile, corner, cornered.curve)
  const forget = forgetOf(bench, TICK_S)
  const y = new Float64Array(STATE_SIZE)
  y[DIE] = dieC - settledRiseK(prepared, prepareLoad(prepared, load), settled, dieC)
  y[PLATE] = plateC
  y[COOLANT] = settled.coolantC ?? plateC
  y[SENSED] = dieC
  let meanW = powerW
  let decision = controller.look(dieC, meanW, y[DIE])
  const hold = (): void => {
    const heatW = ((y[DIE] as number) - (y[PLATE] as number)) / bench.part.packageResistanceKPerW
    network.holdRatios(decision.ratios, setVsOf(decision.ratios))
    network.holdCurrent(drive.currentA(heatW, y[PLATE] as number, network.coolantC(y)))
    stepper.restart()
  }
  hold()
  const drops: number[] = []
  let h = TICK_S
  for (let tick = 1; ; tick++) {
    const nowS = tick * TICK_S
    if (nowS - (drops.at(-1) ?? 0) > mostS) return undefined
    y[ENERGY] = 0
    for (let left = TICK_S; left > 0; ) {
      const step = Math.min(h, left)
      const error = stepper.tryStep(y, step)
      h = nextStep(step, error)
      if (!(h > 1e-9)) return undefined
      if (!(error <= 1)) continue
      y.set(stepper.end)
      left = step === left ? 0 : left - step
    }
    h = Math.max(h, TICK_S / 4)
    meanW += ((y[ENERGY] as number) / TICK_S - meanW) * forget
    const next = controller.look(y[SENSED] as number, meanW, y[DIE] as number)
    const isChanged = next.ratios !== decision.ratios
    if (isChanged && isLower(next, decision)) drops.push(nowS)
    decision = next
    if (isChanged || drive.isMoving) hold()
    const [first, last] = [drops[SKIPPED], drops.at(-1)]
    if (drops.length > SKIPPED + COUNTED && first !== undefined && last !== undefined)
      return (last - first) / (drops.length - 1 - SKIPPED)
  }
}

/** Whether any group is slower after one look than after another. */
const isLower = ({ ratios }: Decision, before: Decision): boolean =>
  ratios.some((ratio, at) => ratio < (before.ratios[at] as number))
