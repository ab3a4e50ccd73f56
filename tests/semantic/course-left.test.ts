import { describe, expect, it } from 'vitest'
import { type Course, type CourseEnd, finished } from '../../server/model/index.ts'
import { createRunsOverTime } from '../../server/semantic/over-time.ts'
import { allCores, benchWith, room } from '../model/transient-bench.ts'

describe('a course that is followed unless a figure comes to an end', () => {
  const bench = benchWith()
  const course: Course = {
    start: { kind: 'settled', load: { kind: 'idle' } },
    lines: [{ kind: 'step', load: allCores, until: { kind: 'time', forS: 10 } }],
  }
  const dieOver = (value: number): CourseEnd => ({ figure: 'die', side: 'high', value })

  it('is kept where none does, and asked of what is kept then', () => {
    const runs = createRunsOverTime()
    const whole = finished(runs.courseUnless(bench, course, room, dieOver(500)))
    expect(whole).toMatchObject({ endS: 10 })
    expect(runs.course(bench, course, room)).toBe(whole)
    expect(finished(runs.courseUnless(bench, course, room, dieOver(room.airC)))).toBe('left')
  })

  it('is not kept where one does', () => {
    const runs = createRunsOverTime()
    expect(finished(runs.courseUnless(bench, course, room, dieOver(room.airC)))).toBe('left')
    expect(runs.course(bench, course, room)).toBe('pending')
  })
})
