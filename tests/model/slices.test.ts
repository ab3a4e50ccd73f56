import { describe, expect, it } from 'vitest'
import { finished, resumable } from '../../server/model/slices.ts'

/** Work of so many steps, each written down. */
function* steps(count: number, done: number[]): Generator<undefined, number> {
  for (let step = 0; step < count; step++) {
    done.push(step)
    yield
  }
  return done.length
}

describe('work for several', () => {
  it('goes on where a caller that gave up had stopped', () => {
    const done: number[] = []
    const work = resumable(steps(5, done))
    const overtaken = work()
    overtaken.next()
    overtaken.next()
    overtaken.return(0)
    expect(done).toEqual([0, 1])
    expect(finished(work())).toBe(5)
    expect(done).toEqual([0, 1, 2, 3, 4])
  })

  it('is shared by two who work on it by turns, and done once', () => {
    const done: number[] = []
    const work = resumable(steps(4, done))
    const [one, other] = [work(), work()]
    const ends: number[] = []
    for (let round = 0; round < 6; round++) {
      for (const each of [one, other]) {
        const { done: isDone, value } = each.next()
        if (isDone === true && value !== undefined) ends.push(value)
      }
    }
    expect(ends).toEqual([4, 4])
    expect(done).toEqual([0, 1, 2, 3])
    expect(finished(work())).toBe(4)
    expect(done).toHaveLength(4)
  })

  it('fails for each who asks where it fails', () => {
    const work = resumable(
      (function* (): Generator<undefined, number> {
        yield
        throw new RangeError('no such place')
      })(),
    )
    expect(() => finished(work())).toThrow('no such place')
    expect(() => finished(work())).toThrow('no such place')
  })
})
