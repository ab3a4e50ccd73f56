import { describe, expect, it } from 'vitest'
import { createSeries } from '../../../server/bench/log/series.ts'
import { asLogged, loggedSteps } from '../../../server/bench/run/course-log.ts'
import type { Course, Load } from '../../../server/model/index.ts'

const heavy: Load = { kind: 'work', cores: 8, activity: 1, vector: false }
const light: Load = { kind: 'work', cores: 1, activity: 0.3, vector: false }
const idle: Load = { kind: 'idle' }
const watts = new Map<Load, number>([
  [heavy, 200],
  [light, 60],
])
const powerOf = (load: Load): number => watts.get(load) ?? 20
const step = (load: Load, forS: number): Course['lines'][number] => ({
  kind: 'step',
  load,
  until: { kind: 'time', forS },
})
const wait = (load: Load): Course['lines'][number] => ({
  kind: 'step',
  load,
  until: { kind: 'temperature', figure: 'plate', compare: '<=', temperatureC: 12, withinS: 600 },
})

/** A row a second, by how long each power lasted. */
function logOf(...levels: readonly (readonly [powerW: number, seconds: number])[]) {
  const builder = createSeries(['power'])
  let at = 0
  for (const [powerW, seconds] of levels) for (let row = 0; row < seconds; row++) builder.add(at++, [powerW])
  return builder.finish()
}
const found = (series: ReturnType<typeof logOf>, course: Course) => {
  const steps = loggedSteps(series, course, powerOf)
  return typeof steps === 'string' ? steps : steps.map(({ line, from, to }) => [line, from, to])
}

describe('steps of a course in a log', () => {
  const start = { kind: 'settled', load: idle } as const

  it('end where the power changes, and not where a reading jumps', () => {
    const course = { start, lines: [step(light, 30), step(heavy, 30), step(light, 30)] }
    const series = logOf([62, 20], [190, 1], [58, 25], [205, 12], [61, 50], [21, 9])
    expect(found(series, course)).toEqual([
      [0, 0, 46],
      [1, 46, 58],
      [2, 58, 108],
    ])
  })

  it('leave out steps that never came, and rest before and behind the course', () => {
    const course = { start, lines: [step(heavy, 30), step(light, 30), step(heavy, 30)] }
    expect(found(logOf([20, 15], [200, 40], [20, 10]), course)).toEqual([[0, 15, 55]])
  })

  it('of one power share its rows by their times; one that waits takes what is left', () => {
    const course = { start, lines: [step(idle, 10), wait(idle), step(heavy, 30)] }
    expect(found(logOf([20, 60], [200, 30]), course)).toEqual([
      [0, 0, 10],
      [1, 10, 60],
      [2, 60, 90],
    ])
  })

  it('cannot be told apart without power', () => {
    const builder = createSeries(['die'])
    for (let at = 0; at < 20; at++) builder.add(at, [40])
    expect(loggedSteps(builder.finish(), { start, lines: [step(heavy, 9)] }, powerOf)).toContain('no power')
  })

  it('make a course that lasts as the log does, with its faults where they were', () => {
    const fault = { kind: 'fault', word: 'fan', pct: 0 } as const
    const course: Course = { start, lines: [step(light, 30), fault, step(heavy, 30), step(light, 30)] }
    const series = logOf([60, 44], [200, 16])
    const steps = loggedSteps(series, course, powerOf)
    if (typeof steps === 'string') throw new Error(steps)
    const { lines } = asLogged(course, steps, series)
    expect(lines.map(line => (line.kind === 'fault' ? line.word : line.until))).toEqual([
      { kind: 'time', forS: 44 },
      'fan',
      { kind: 'time', forS: 15 },
    ])
  })
})
