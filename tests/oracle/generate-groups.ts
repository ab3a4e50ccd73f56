/**
 * Seeded random chips of two and three groups on one and two rails, on the coolers, drives and fans of `generate.ts`, with
 * limits and bands laid near where each load would settle.
 */
import type { Bench, Corner, Limits, VoltageRow } from '../../server/model/types.ts'
import { type Chip, type Group, ofActive, type Rail, type Task } from './chip.ts'
import { type Running, running } from './die.ts'
import { bandsOf, between, type Dice, diceFrom, sampleOf, type Wanted } from './generate.ts'
import { ceilingRatios, lastCount } from './levels.ts'
import { roughPlateC } from './plate.ts'

export interface GroupSample {
  readonly chip: Chip
  readonly task: Task
  readonly corner: Corner
}

const needsOf = (dice: Dice, shift: number): VoltageRow[] => {
  const needs = [{ ratio: 36 - shift, voltageV: dice.between(0.8, 1.0, 3) }]
  for (const ratio of [44, 50, 54, 58].slice(0, dice.whole(1, 4))) {
    const before = needs[needs.length - 1]
    if (!before) continue
    needs.push({ ratio: ratio - shift, voltageV: Number((before.voltageV + dice.between(0.02, 0.13, 3)).toFixed(3)) })
  }
  return needs
}

/** A group of wide cores for the first, of small ones for the others. */
const groupOf = (dice: Dice, { part }: Bench, index: number, rail: number): Group => {
  const isWide = index === 0
  const cores = isWide ? dice.whole(2, 8) : dice.whole(2, 12)
  const split = dice.whole(1, cores - 1)
  const shift = isWide ? 0 : dice.whole(0, 14)
  const top = dice.whole(46, 60) - shift
  return {
    rail,
    cores,
    ratioLow: dice.chance(0.5) ? Math.min(part.ratioLow, top) : dice.pick([8, 16, 24]),
    needs: needsOf(dice, shift),
    needsAtC: dice.chance(0.5) ? part.needsAtC : 70,
    needsSlopeVPerK: dice.chance(0.5) ? part.needsSlopeVPerK : 0.0002,
    vectorNeedsV: dice.chance(0.5) ? part.vectorNeedsV : 0.02,
    switchingNf: isWide ? dice.between(1.2, 2.6, 3) : dice.between(0.3, 1.2, 3),
    leakageW: Number((part.leakageW * dice.between(0.1, 0.7, 2)).toFixed(2)),
    leakageAtV: dice.chance(0.5) ? part.leakageAtV : dice.between(0.9, 1.25, 2),
    leakageAtC: dice.chance(0.5) ? part.leakageAtC : dice.pick([40, 70]),
    coreResistanceKPerW: isWide ? dice.between(0.2, 0.7, 3) : dice.between(0.3, 1.4, 3),
    steps: [
      { fromCores: 1, toCores: split, ratio: top },
      { fromCores: split + 1, toCores: cores, ratio: top - part.ratioStep * dice.whole(0, 5) },
    ],
    bands: [],
    returnK: 0,
    vectorDrop: dice.chance(0.5) ? 0 : part.ratioStep * dice.whole(1, 5),
    voltage: dice.chance(0.25)
      ? { kind: 'fixed', voltageV: dice.between(0.9, 1.35, 3) }
      : {
          kind: 'needs',
          offsetV: dice.between(-0.02, 0.03, 3),
          set: dice.chance(0.3)
            ? [{ ratio: dice.pick([44, 47, 50]) - shift, voltageV: dice.between(1.0, 1.3, 3) }]
            : [],
        },
  }
}

const railOf = (dice: Dice): Rail => ({
  loadLineOhm: dice.chance(0.4) ? 0 : dice.between(0.0001, 0.0012, 6),
  ...(dice.chance(0.5) ? { coreVoltageStepV: dice.pick([0.005, 0.00625, 0.001]) } : {}),
})

const taskFor = (dice: Dice, groups: readonly Group[]): Task => {
  const drawn = groups.map(({ cores }) => (dice.chance(0.25) ? 0 : dice.chance(0.6) ? cores : dice.whole(1, cores)))
  const some = dice.whole(0, groups.length - 1)
  const isIdle = drawn.every(cores => cores === 0)
  return {
    cores: isIdle ? groups.map(({ cores }, index) => (index === some ? cores : 0)) : drawn,
    activity: groups.map(() => dice.between(0.3, 1.1, 2)),
    vector: dice.chance(0.4),
    uneven: dice.chance(0.5) ? 1 : dice.between(1, 1.8, 2),
  }
}

/** Where a task would settle so many ratio-steps down, roughly: the place round which limits are laid. */
export const roughly = (chip: Chip, task: Task, corner: Corner, count: number): { dieC: number; at: Running } => {
  const ratios = ceilingRatios(chip, task, count)
  const packageKPerW = chip.bench.part.packageResistanceKPerW
  let dieC = -20
  for (let turn = 0; turn < 60 && dieC < 150; turn += 1) {
    const { powerW, riseK } = running(chip, task, ratios, dieC)
    dieC = roughPlateC(chip.bench, corner, powerW) + packageKPerW * powerW + riseK
  }
  const usedC = dieC < 150 ? dieC : 85
  return { dieC: usedC, at: running(chip, task, ratios, Math.min(usedC, chip.bench.part.dieLimitC)) }
}

const limitsOf = (dice: Dice, fast: { dieC: number; at: Running }, slow: { dieC: number; at: Running }): Limits => {
  const limits: { -readonly [Key in keyof Limits]: Limits[Key] } = {}
  const coolestC = Math.min(fast.dieC, slow.dieC)
  const wish = dice.pick(['free', 'free', 'throttled', 'throttled', 'near', 'over'] as const)
  if (wish === 'throttled') limits.dieC = between(dice, fast.dieC, coolestC, 0.01, 0.8)
  if (wish === 'over') limits.dieC = Number((coolestC - dice.between(-1, 6, 1)).toFixed(1))
  if (wish === 'near') limits.dieC = Number((fast.dieC + dice.between(0.5, 10, 1)).toFixed(1))
  if (dice.chance(0.2)) limits.burstPowerW = between(dice, slow.at.powerW, fast.at.powerW, 0.2, 1.1)
  if (dice.chance(0.3)) limits.sustainedPowerW = between(dice, slow.at.powerW, fast.at.powerW, 0.1, 1.1)
  if (dice.chance(0.03)) limits.sustainedPowerW = between(dice, 0, slow.at.powerW, 0.3, 0.95)
  return limits
}

export const groupSampleOf = (seed: number, wanted: Wanted): GroupSample => {
  const plain = sampleOf(seed, wanted)
  const { corner } = plain
  const dice = diceFrom(seed ^ 0x2c1b3c6d)
  const isSplit = dice.chance(0.5)
  const rails = isSplit ? [railOf(dice), railOf(dice)] : [railOf(dice)]
  const groups = Array.from({ length: dice.whole(2, 3) }, (_, index) =>
    groupOf(dice, plain.bench, index, isSplit ? (index === 0 ? 0 : index === 1 ? 1 : dice.whole(0, 1)) : 0),
  )
  const task = taskFor(dice, groups)
  const bare: Chip = { bench: plain.bench, groups, rails }
  const fast = roughly(bare, task, corner, 0)
  const slow = roughly(bare, task, corner, lastCount(bare, task))
  const limits = limitsOf(dice, fast, slow)
  const aroundC = Math.min(fast.dieC, limits.dieC ?? fast.dieC)
  const banded = ofActive(bare, task, (group, cores) => ({
    ...group,
    bands: dice.chance(0.5) ? bandsOf(dice, cores, aroundC, plain.bench.part.ratioStep) : [],
    returnK: dice.chance(0.5) ? 0 : dice.between(0.5, 8, 1),
  }))
  const limited = rails.map((rail, index) => {
    const [low, high] = [slow.at.rails[index]?.currentA ?? 0, fast.at.rails[index]?.currentA ?? 0]
    return dice.chance(0.15) && high > 1 ? { ...rail, currentA: between(dice, low, high, 0.2, 1.1) } : rail
  })
  const bench = { ...plain.bench, profile: { ...plain.bench.profile, limits } }
  return {
    chip: { bench, groups: groups.map((group, index) => banded[index] ?? group), rails: limited },
    task,
    corner,
  }
}
