/** A clock for tests of what takes time: waits pass only while a test lets them, and cost nothing. */
import { afterEach, beforeEach, vi } from 'vitest'

/**
 * Puts a fake clock in place of the timers of each test of a block, or of a file. Call it behind what stops clients: their
 * end, which takes no time that anybody waits for, is on the real clock again.
 */
export function fakeClock(): void {
  beforeEach(() => {
    vi.useFakeTimers({ toFake: ['setTimeout', 'clearTimeout', 'setInterval', 'clearInterval'] })
  })
  afterEach(() => {
    vi.useRealTimers()
  })
}

const stepMs = 10

/** Gives what comes of `work`; time passes for everybody alike until it has come, ten milliseconds a step. */
export async function during<T>(work: Promise<T>): Promise<T> {
  let isOver = false
  const over = (): void => {
    isOver = true
  }
  work.then(over, over)
  while (!isOver) {
    // Messages on their way arrive first: a timer is for what takes long, not for the next line of this process.
    for (let round = 0; round < 20; round++) await new Promise(resolve => setImmediate(resolve))
    vi.advanceTimersByTime(stepMs)
  }
  return work
}
