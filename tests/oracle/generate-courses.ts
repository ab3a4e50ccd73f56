/**
 * Seeded random courses on the benches of `generate.ts`: every start, every fault, steps that wait,
 * lag. The benches have little to heat, so that seconds bring them to their bands, limits, targets and trips.
 */
import type { Bench, Corner, Drive } from '../../server/model/types.ts'
import { type Chip, chipOf, type Task, taskOf } from './chip.ts'
import type { Course, Doing, FaultLine, Start, StepLine } from './course/course.ts'
import { type Dice, diceFrom, sampleOf, wantedOf } from './generate.ts'
import { groupSampleOf, roughly } from './generate-groups.ts'

export interface CourseSample {
  readonly chip: Chip
  readonly corner: Corner
  readonly course: Course
  readonly lagS: number
}

/** Little to heat, averages of seconds. */
const quickBench = (dice: Dice, bench: Bench): Bench => {
  const heats = bench.cooler.kind === 'chilled' ? { plateHeatJPerK: 20 } : { plateHeatJPerK: 20, coolantHeatJPerK: 60 }
  const whenOff = bench.cooler.kind === 'thermoelectric' ? { driveWhenOff: dice.chance(0.5) } : {}
  const ceilingC = Math.min(bench.part.dieLimitC, bench.profile.limits.dieC ?? Number.POSITIVE_INFINITY)
  const trip = dice.chance(0.5) ? { tripC: Number((ceilingC + dice.between(0.3, 4, 1)).toFixed(1)) } : {}
  return {
    ...bench,
    part: { ...bench.part, ...trip },
    cooler: { ...bench.cooler, ...heats, ...whenOff } as Bench['cooler'],
    profile: { ...bench.profile, limits: { ...bench.profile.limits, sustainedOverS: dice.pick([0.5, 3]) } },
  }
}

const words = ['pump', 'fan', 'chiller', 'radiator', 'drive'] as const

const faultOf = (dice: Dice): FaultLine => {
  const what = dice.pick(words)
  const ends = dice.chance(0.25)
  if (ends) return { kind: 'fault', what, pct: 100 }
  const pcts = { pump: [0, 2, 40, 80], fan: [0, 10, 35, 70], chiller: [0, 50], radiator: [60, 150, 300], drive: [0] }
  return { kind: 'fault', what, pct: dice.pick(pcts[what]) }
}

/** Fewer cores, less to do. */
const lighter = (dice: Dice, task: Task): Task => {
  const cores = task.cores.map(count => (dice.chance(0.3) ? count : Math.floor(count / 2)))
  const first = task.cores.findIndex(count => count > 0)
  return {
    ...task,
    cores: cores.some(count => count > 0) ? cores : cores.map((_, index) => (index === first ? 1 : 0)),
    activity: task.activity.map(activity => Number((activity * dice.between(0.3, 1, 2)).toFixed(2))),
    vector: dice.chance(0.5) && task.vector,
  }
}

const linesOf = (dice: Dice, loads: readonly Doing[], airC: number, hotC: number, seconds: number) => {
  const lines: (StepLine | FaultLine)[] = []
  for (let leftS = seconds; leftS > 0.05; ) {
    if (dice.chance(0.35)) lines.push(faultOf(dice))
    const lastsS = Math.min(Number(leftS.toFixed(2)), dice.between(0.3, 0.5 * seconds, 2))
    leftS -= lastsS
    const doing = dice.pick(loads)
    const of = dice.pick(['die', 'plate', 'coolant'] as const)
    const share = { die: 0.9, plate: 0.5, coolant: 0.2 }[of]
    const until = {
      of,
      direction: dice.pick(['at-most', 'at-least'] as const),
      targetC: Number((airC + (hotC - airC) * share * dice.between(0.2, 1.2, 2)).toFixed(1)),
    }
    lines.push({ kind: 'step', doing, lastsS, ...(dice.chance(0.4) ? { until } : {}) })
  }
  return lines
}

/** A search at each tick, and the slower the fan behind it. */
const isTarget = ({ kind }: Drive): boolean => kind === 'dew' || kind === 'hold'

const courseOn = (seed: number, from: Chip, task: Task, corner: Corner): CourseSample => {
  const dice = diceFrom(seed ^ 0x3779ab15)
  const chip = { ...from, bench: quickBench(dice, from.bench) }
  const work: Doing = { kind: 'work', task }
  const light: Doing = { kind: 'work', task: lighter(dice, task) }
  const resting = [{ kind: 'idle' as const }, { kind: 'off' as const }]
  const starts: readonly Start[] = [
    { kind: 'room' },
    { kind: 'idle' },
    { kind: 'settled', doing: work },
    { kind: 'settled', doing: light },
  ]
  const hotC = roughly(chip, task, corner, 0).dieC
  const seconds = isTarget(chip.bench.profile.drive) ? 2.5 : 6
  const lines = linesOf(dice, [work, work, work, light, light, ...resting], corner.airC, hotC, seconds)
  const lagS = dice.chance(0.5) ? dice.between(0.1, 3, 2) : 0
  return { chip, corner, course: { start: dice.pick(starts), lines }, lagS }
}

/** A course on a plain part; undefined for a seed whose bench only rests. */
export const plainCourseOf = (seed: number): CourseSample | undefined => {
  const { bench, load, corner } = sampleOf(seed, wantedOf(seed))
  return load.kind === 'work' ? courseOn(seed, chipOf(bench), taskOf(load), corner) : undefined
}

/** A course on a part of two or three groups. */
export const groupCourseOf = (seed: number): CourseSample => {
  const { chip, task, corner } = groupSampleOf(seed, wantedOf(seed))
  return courseOn(seed, chip, task, corner)
}
