/**
 * Courses of the model compared with the reference tick by tick, on random benches of every cooler, drive and fan: every
 * start, every fault, steps that wait, lag. `COURSE_SEEDS=100` in the environment asks for a longer run.
 */
import { afterAll, describe, expect, test } from 'vitest'
import { type CourseStart, type FaultLine, followCourse, type StepLine } from '../../server/model/index.ts'
import type { Bench, Load } from '../../server/model/types.ts'
import type { Course, Doing } from './course/course.ts'
import { courseRun } from './course/run.ts'
import { addTo, type Histogram, printed } from './generate.ts'
import { type CourseSample, plainCourseOf } from './generate-courses.ts'

const asked = process.env.COURSE_SEEDS
const tickS = 0.01

const loadOf = (doing: Doing): Load => {
  if (doing.kind !== 'work') return doing
  const { cores, activity, vector, uneven } = doing.task
  return { kind: 'work', cores: cores[0] ?? 0, activity: activity[0] ?? 0, vector, uneven }
}

const startOf = (start: Course['start']): CourseStart => {
  if (start.kind === 'room') return start
  return { kind: 'settled', load: start.kind === 'idle' ? { kind: 'idle' } : loadOf(start.doing) }
}

const linesOf = ({ lines }: Course) =>
  lines.map((line): StepLine | FaultLine => {
    if (line.kind === 'fault') {
      const { what, pct } = line
      return what === 'drive' ? { kind: 'fault', word: what, isOn: pct > 0 } : { kind: 'fault', word: what, pct }
    }
    const { until, lastsS } = line
    return {
      kind: 'step',
      load: loadOf(line.doing),
      until: until
        ? {
            kind: 'temperature',
            figure: until.of,
            compare: until.direction === 'at-most' ? '<=' : '>=',
            temperatureC: until.targetC,
            withinS: lastsS,
          }
        : { kind: 'time', forS: lastsS },
    }
  })

const laggard = (bench: Bench, driveLagS: number): Bench =>
  bench.cooler.kind === 'thermoelectric' ? { ...bench, cooler: { ...bench.cooler, driveLagS } } : bench

const reached: Histogram = new Map()

/** What differs, in a few words; the times of all steps, every tick's clock, temperatures, power and current. */
const differences = ({ chip, corner, course, lagS }: CourseSample): string[] => {
  const expected = courseRun(chip, corner, course, { lagS })
  const door = { start: startOf(course.start), lines: linesOf(course) }
  const got = followCourse(laggard(chip.bench, lagS), door, corner, { tickS, sampleS: tickS })
  if (expected === undefined || 'undecided' in got) {
    addTo(reached, 'no start')
    return (expected === undefined) === 'undecided' in got ? [] : ['one of them does not start']
  }
  const found: string[] = []
  const { series } = got
  const { ticks } = expected
  // Above a mean of 450 K the constants are held: at that bend a step of the model over a tick is exact to 1e-4 K alone.
  const bent = ticks.findIndex(tick => tick.hotC !== null && (tick.plateC + tick.hotC) / 2 > 175)
  if (series.timeS.length !== ticks.length + 1)
    found.push(`${series.timeS.length - 1} ticks instead of ${ticks.length}`)
  const off = { clockMhz: 0, powerW: 0, dieC: 0, plateC: 0, coolantC: 0, driveA: 0 }
  const where = { ...off }
  const note = (name: keyof typeof off, at: number, theirs: number): void => {
    const by = Math.abs((series[name][at] ?? Number.NaN) - theirs)
    if (by <= off[name]) return
    off[name] = by
    where[name] ||= by > 1e-5 ? at : 0
  }
  const boundaries = new Set(expected.steps.map(step => Math.round(step.endS / tickS)))
  const compared = bent < 0 ? series.timeS.length - 1 : bent
  ticks.slice(0, compared).forEach((tick, index) => {
    const at = index + 1
    const [ratio] = tick.ratios
    if (ratio != null) note('clockMhz', at, ratio * chip.bench.part.referenceGhz * 1000)
    else if (!Number.isNaN(series.clockMhz[at])) found.push(`tick ${at} has a clock`)
    note('powerW', at, tick.meanW)
    note('plateC', at, tick.plateC)
    // What begins at an instant may have another rise of its cores, and a chiller that fails at once.
    if (boundaries.has(at)) return
    note('coolantC', at, tick.coolantC)
    const next = ticks[index + 1]
    if (next === undefined) return
    if (chip.bench.cooler.kind === 'thermoelectric') note('driveA', at, next.currentA)
    if (String(next.ratios) !== String(tick.ratios)) addTo(reached, 'clock changed')
    else note('dieC', at, tick.dieC)
  })
  const allowed = { clockMhz: 1e-6, powerW: 1e-3, dieC: 1e-5, plateC: 1e-5, coolantC: 1e-5, driveA: 1e-5 }
  for (const name of Object.keys(off) as (keyof typeof off)[])
    if (!(off[name] <= allowed[name])) found.push(`${name} off by ${off[name]} from tick ${where[name]}`)
  expected.steps.forEach((step, index) => {
    addTo(reached, `ended ${step.ended}`)
    if (bent >= 0) return
    const ours = got.steps[index]
    if (ours?.ended !== step.ended) found.push(`step ${index}: ${ours?.ended} instead of ${step.ended}`)
    if (!(Math.abs((ours?.endS ?? 0) - step.endS) < 1e-9))
      found.push(`step ${index} ends at ${ours?.endS} instead of ${step.endS}`)
  })
  if (bent >= 0) addTo(reached, 'past the bend of the constants')
  if (got.steps.length !== expected.steps.length) found.push(`${got.steps.length} steps`)
  if ((got.tripS === null) !== (expected.tripS === null))
    found.push(`trip at ${got.tripS} instead of ${expected.tripS}`)
  addTo(reached, `start ${course.start.kind}`)
  for (const line of course.lines)
    if (line.kind === 'fault') addTo(reached, `${line.what} ${line.pct === 100 ? 'mended' : 'fails'}`)
  if (lagS > 0 && chip.bench.cooler.kind === 'thermoelectric') addTo(reached, 'lag')
  return found
}

const seeds = Array.from({ length: Number(asked ?? 45) }, (_, index) => index)
/** Without the seeds whose bench only rests. */
const samples = seeds.flatMap(seed => {
  const sample = plainCourseOf(seed)
  return sample === undefined ? [] : [{ seed, sample }]
})

describe('courses on plain parts', () => {
  test.each(samples)('bench $seed', { timeout: 120_000 }, ({ sample }) => {
    expect(differences(sample)).toEqual([])
  })

  test('are drawn from most seeds', () => {
    expect(samples.length).toBeGreaterThan(0.8 * seeds.length)
  })
})

test.each([
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

afterAll(() => {
  if (asked !== undefined) console.log(printed(reached))
})
