/** Time from row to row of a log. */

export interface LogGap {
  readonly fromS: number
  readonly toS: number
}

export interface LogClock {
  /**
   * The row's time on one line with the first: carried on over midnight, and behind a header that came again (the
   * logger was started anew). NaN where it goes back.
   */
  next(raw: number, place: 'behind-header' | 'later', kind: 'time-of-day' | 'elapsed'): number
  /** Takes the time of a row. Returns whether a gap lies before it. */
  take(timeS: number): boolean
  readonly gaps: readonly LogGap[]
  readonly gapCount: number
}

/** A step of time more than this many times the usual one is a gap. */
export const GAP_FACTOR = 5
const GAPS_KEPT = 20
const STEPS_LEARNT = 32
/** So many steps are needed before one can be called unusual. */
const STEPS_NEEDED = 4
const DAY_S = 86_400

export function createClock(): LogClock {
  const gaps: LogGap[] = []
  const steps: number[] = []
  let gapCount = 0
  let last = Number.NaN
  let offset = 0
  let usual = Number.NaN

  return {
    next: (raw, place, kind) => {
      let time = raw + offset
      if (kind === 'time-of-day' && time < last - DAY_S / 2) {
        offset += DAY_S
        time += DAY_S
      }
      if (time < last && place === 'behind-header') {
        // How long the logger stood still is not known: long enough for a gap.
        const pause = 2 * GAP_FACTOR * (usual > 0 ? usual : 1)
        offset += last + pause - time
        time = last + pause
      }
      return time < last ? Number.NaN : time
    },
    take: timeS => {
      const step = timeS - last
      const before = last
      last = timeS
      if (Number.isNaN(step)) return false
      if (steps.length < STEPS_LEARNT) {
        steps.push(step)
        usual = steps.toSorted((a, b) => a - b)[steps.length >> 1] as number
      }
      if (steps.length < STEPS_NEEDED || !(usual > 0 && step > GAP_FACTOR * usual)) return false
      gapCount++
      if (gaps.length < GAPS_KEPT) gaps.push({ fromS: before, toS: timeS })
      return true
    },
    gaps,
    get gapCount() {
      return gapCount
    },
  }
}
