/**
 * Courses of the model compared with the reference tick by tick, on random benches of every cooler, drive and fan, plain
 * parts and parts of two and three groups on one and two rails: every start, every fault, steps that wait, lag.
 * `COURSE_SEEDS=100` in the environment asks for a longer run.
 */
import { afterAll, describe, expect, test } from 'vitest'
import type { Bench } from '../../server/model/types.ts'
import { makePlate } from '../harness/make.ts'
import { isWhole, leastOf } from '../harness/sampled.ts'
import { chipOf, taskOf } from './chip.ts'
import type { Doing } from './course/course.ts'
import { courseDifferences, groupDoor, plainDoor } from './course-compare.ts'
import { type Histogram, printed } from './generate.ts'
import { groupCourseOf, plainCourseOf } from './generate-courses.ts'
import { corner, withPart } from './paper-bench.ts'

const asked = process.env.COURSE_SEEDS

const reached: Histogram = new Map()
const reachedByGroups: Histogram = new Map()

/** All seeds in a whole run; in a usual one without those on which the reference takes longest. */
const seedsWithout = (slow: readonly number[]): readonly number[] =>
  Array.from({ length: Number(asked ?? 45) }, (_, index) => index).filter(
    seed => isWhole || asked !== undefined || !slow.includes(seed),
  )
const seeds = seedsWithout([17, 19])
const groupSeeds = seedsWithout([15, 16, 17, 18, 19, 20])
/** Without the seeds whose bench only rests. */
const samples = seeds.flatMap(seed => {
  const sample = plainCourseOf(seed)
  return sample === undefined ? [] : [{ seed, sample }]
})

describe('a failure under a settled load', () => {
  const doing: Doing = { kind: 'work', task: taskOf({ kind: 'work', cores: 8, activity: 1, vector: false }) }
  const heats = { plateHeatJPerK: 20, coolantHeatJPerK: 60 }
  // There is next to nothing to give back, so that what fails must stop the machine.
  const bench = withPart({ ratioLow: 49, dieLimitC: 75, tripC: 80 })
  const coolers = { loop: { ...bench.cooler, ...heats } as Bench['cooler'], plate: makePlate(heats) }

  test.each([
    ['pump', 'loop'],
    ['fan', 'loop'],
    ['pump', 'plate'],
    ['fan', 'plate'],
    ['drive', 'plate'],
  ] as const)('of the %s on a %s stops the machine when the reference says so', (what, cooler) => {
    const lines = [
      { kind: 'step' as const, doing, lastsS: 1 },
      { kind: 'fault' as const, what, pct: 0 },
      { kind: 'step' as const, doing, lastsS: 300 },
    ]
    const chip = chipOf({ ...bench, cooler: coolers[cooler] })
    const sample = { chip, corner, course: { start: { kind: 'settled' as const, doing }, lines }, lagS: 0 }
    const found: Histogram = new Map()
    // The time of the trip is the end of its step, which is compared.
    expect(courseDifferences(sample, plainDoor, found)).toEqual([])
    expect([found.get('ended time'), found.get('ended trip')]).toEqual([1, 1])
  })
})

describe('courses on plain parts', () => {
  test.each(samples)('bench $seed', { timeout: 120_000 }, ({ sample }) => {
    expect(courseDifferences(sample, plainDoor, reached)).toEqual([])
  })

  test('are drawn from most seeds', () => {
    expect(samples.length).toBeGreaterThan(0.8 * seeds.length)
  })
})

describe('courses on parts with groups', () => {
  // A supply that asks for more current than any hot side can carry away again.
  test('take no current beyond which the hot side has no temperature', () => {
    expect(courseDifferences(groupCourseOf(415), groupDoor, new Map())).toEqual([])
  })

  // While idle, the sensed temperature rises above the ceiling for one more look, with the lowest ratios already held.
  test('give back no ratio-step without work that the last load does not have', () => {
    expect(courseDifferences(groupCourseOf(266), groupDoor, new Map())).toEqual([])
  })

  test.each(groupSeeds)('bench %d', { timeout: 120_000 }, seed => {
    expect(courseDifferences(groupCourseOf(seed), groupDoor, reachedByGroups)).toEqual([])
  })
})

test.each([
  ['on loop', 3],
  ['on air', 3],
  ['on chilled', 3],
  ['on thermoelectric', 3],
  ['start room', 3],
  ['start idle', 3],
  ['start settled', 10],
  ['ended time', 30],
  ['ended reached', 5],
  ['ended waited', 5],
  ['ended trip', 1],
  ['pump fails', 3],
  ['fan fails', 3],
  ['chiller fails', 1],
  ['radiator fails', 3],
  ['drive fails', 3],
  ['lag', 5],
  ['clock changed', 200],
])('the samples reach %s', (key, atLeast) => {
  expect(reached.get(key) ?? 0, `\n${printed(reached)}\n`).toBeGreaterThanOrEqual(atLeast)
})

test.each([
  ['start room', 3],
  ['start settled', 10],
  ['ended time', 30],
  ['ended reached', 5],
  ['pump fails', 3],
  ['lag', 5],
  ['clock changed', 200],
  ['one group alone changed', 20],
])('the samples of groups reach %s', (key, atLeast) => {
  const text = `\n${printed(reachedByGroups)}\n`
  expect(reachedByGroups.get(key) ?? 0, text).toBeGreaterThanOrEqual(leastOf(atLeast, 0.7))
})

afterAll(() => {
  if (asked !== undefined) console.log(printed(reached), printed(reachedByGroups))
})
