/** Courses of the model compared with the reference tick by tick. */

import type { CourseStart, FaultLine, StepLine } from '../../server/model/index.ts'
import type { Bench, Load } from '../../server/model/types.ts'
import { followCourse } from '../harness/follow-course.ts'
import { benchOf, loadOf } from './as-bench.ts'
import type { Chip, Task } from './chip.ts'
import type { Course, Doing } from './course/course.ts'
import { courseRun } from './course/run.ts'
import { addTo, type Histogram } from './generate.ts'
import type { CourseSample } from './generate-courses.ts'

const tickS = 0.01

/** How a sample is put to the model: its bench, and each of its tasks as a load of that bench. */
interface Door {
  readonly bench: (chip: Chip) => Bench
  readonly load: (task: Task) => Load
}

export const plainDoor: Door = {
  bench: chip => chip.bench,
  load: ({ cores, activity, vector, uneven }) => {
    return { kind: 'work', cores: cores[0] ?? 0, activity: activity[0] ?? 0, vector, uneven }
  },
}

export const groupDoor: Door = { bench: benchOf, load: loadOf }

/** The same load is the same object, as it is for the model's own callers. */
const loadsBy = ({ load }: Door): ((doing: Doing) => Load) => {
  const known = new Map<Doing, Load>()
  return doing => {
    if (doing.kind !== 'work') return doing
    const made = known.get(doing) ?? load(doing.task)
    known.set(doing, made)
    return made
  }
}

const startOf = (start: Course['start'], loadBy: (doing: Doing) => Load): CourseStart => {
  if (start.kind === 'room') return start
  return { kind: 'settled', load: start.kind === 'idle' ? { kind: 'idle' } : loadBy(start.doing) }
}

const linesOf = ({ lines }: Course, loadBy: (doing: Doing) => Load) =>
  lines.map((line): StepLine | FaultLine => {
    if (line.kind === 'fault') {
      const { what, pct } = line
      return what === 'drive' ? { kind: 'fault', word: what, isOn: pct > 0 } : { kind: 'fault', word: what, pct }
    }
    const { until, lastsS } = line
    return {
      kind: 'step',
      load: loadBy(line.doing),
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

/**
 * What differs, in a few words; the times of all steps, every tick's clocks, temperatures, power and current.
 * @param reached is counted what the sample came to
 */
export const courseDifferences = (
  { chip, corner, course, lagS }: CourseSample,
  door: Door,
  reached: Histogram,
): string[] => {
  const expected = courseRun(chip, corner, course, { lagS })
  const loadBy = loadsBy(door)
  const asked = { start: startOf(course.start, loadBy), lines: linesOf(course, loadBy) }
  const got = followCourse(laggard(door.bench(chip), lagS), asked, corner, { tickS, sampleS: tickS })
  if (expected === undefined || 'undecided' in got) {
    addTo(reached, 'no start')
    return (expected === undefined) === 'undecided' in got ? [] : ['one of them does not start']
  }
  const found: string[] = []
  const { series } = got
  const { ticks } = expected
  // Above a mean of 450 K the constants are held: at that bend a step of the model over a tick is exact to 1e-4 K alone.
  const bent = ticks.findIndex(tick => tick.hotC !== null && (tick.plateC + tick.hotC) / 2 > 175)
  // A course whose steps are all over before their first tick takes no time, and has no samples.
  if (series.timeS.length !== (ticks.length === 0 ? 0 : ticks.length + 1))
    found.push(`ticks: model ${series.timeS.length - 1}, second model ${ticks.length}`)
  const off = { clockMhz: 0, powerW: 0, dieC: 0, plateC: 0, coolantC: 0, driveA: 0 }
  const where = { ...off }
  const note = (name: keyof typeof off, at: number, theirs: number, ours = series[name][at]): void => {
    const by = Math.abs((ours ?? Number.NaN) - theirs)
    if (by <= off[name]) return
    off[name] = by
    where[name] ||= by > 1e-5 ? at : 0
  }
  const boundaries = new Set(expected.steps.map(step => Math.round(step.endS / tickS)))
  const compared = bent < 0 ? series.timeS.length - 1 : bent
  ticks.slice(0, compared).forEach((tick, index) => {
    const at = index + 1
    const clockMhz = (ratio: number): number => ratio * chip.bench.part.referenceGhz * 1000
    const ratio = tick.ratios.find(one => one !== null)
    if (ratio != null) note('clockMhz', at, clockMhz(ratio))
    else if (!Number.isNaN(series.clockMhz[at])) found.push(`tick ${at} has a clock`)
    series.groups?.forEach((own, group) => {
      const theirs = tick.ratios[group] ?? null
      if (theirs !== null) note('clockMhz', at, clockMhz(theirs), own.clockMhz[at])
      else if (!Number.isNaN(own.clockMhz[at])) found.push(`group ${group} has a clock at tick ${at}`)
    })
    note('powerW', at, tick.meanW)
    note('plateC', at, tick.plateC)
    // What begins at an instant may have another rise of its cores, and a chiller that fails at once.
    if (boundaries.has(at)) return
    note('coolantC', at, tick.coolantC)
    const next = ticks[index + 1]
    if (next === undefined) return
    if (chip.bench.cooler.kind === 'thermoelectric') note('driveA', at, next.currentA)
    if (String(next.ratios) !== String(tick.ratios)) {
      addTo(reached, 'clock changed')
      const apart = next.ratios.some((one, group) => one !== null && one === tick.ratios[group])
      if (apart) addTo(reached, 'one group alone changed')
    } else note('dieC', at, tick.dieC)
  })
  const allowed = { clockMhz: 1e-6, powerW: 1e-3, dieC: 1e-5, plateC: 1e-5, coolantC: 1e-5, driveA: 1e-5 }
  for (const name of Object.keys(off) as (keyof typeof off)[])
    if (!(off[name] <= allowed[name])) found.push(`${name} off by ${off[name]} from tick ${where[name]}`)
  expected.steps.forEach((step, index) => {
    addTo(reached, `ended ${step.ended}`)
    if (bent >= 0) return
    const ours = got.steps[index]
    if (ours?.ended !== step.ended) found.push(`step ${index}: model ${ours?.ended}, second model ${step.ended}`)
    if (!(Math.abs((ours?.endS ?? 0) - step.endS) < 1e-9))
      found.push(`step ${index} ends: model ${ours?.endS}, second model ${step.endS}`)
  })
  if (bent >= 0) addTo(reached, 'past the bend of the constants')
  if (got.steps.length !== expected.steps.length) found.push(`${got.steps.length} steps`)
  if ((got.tripS === null) !== (expected.tripS === null))
    found.push(`trip: model ${got.tripS}, second model ${expected.tripS}`)
  addTo(reached, `on ${chip.bench.cooler.kind}`)
  addTo(reached, `start ${course.start.kind}`)
  for (const line of course.lines)
    if (line.kind === 'fault') addTo(reached, `${line.what} ${line.pct === 100 ? 'mended' : 'fails'}`)
  if (lagS > 0 && chip.bench.cooler.kind === 'thermoelectric') addTo(reached, 'lag')
  return found
}
