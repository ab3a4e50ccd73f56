/** Time from row to row of a log. */
import { upperMedianOf } from '../statistics/moments.ts'

export interface LogGap {
  readonly fromS: number
  readonly toS: number
}

/** A row with the time that stands in it. */
export interface TimedRow {
  raw: number
  /** After so long the time begins again; 0 where it does not. */
  wrapS: number
  /** The time of day in it; NaN where it has none. */
  clockS: number
  line: number
  /** The time as it is written. */
  shown: string
  values: Float64Array
}

export interface LogClock {
  /**
   * Gives a row its time on one line with the first: carried on over midnight, and behind a header that came again (the
   * logger was started again). Returns whether it can be taken: not where the time goes back. It may be held until the
   * next ones show that its time is in line.
   */
  offer(row: TimedRow, place: 'behind-header' | 'later'): boolean
  /** Takes what is held. */
  flush(): void
  readonly gaps: readonly LogGap[]
  readonly gapCount: number
}

/** A step of time more than this many times the usual one is a gap. */
export const GAP_FACTOR = 5
const GAPS_KEPT = 20
const STEPS_LEARNT = 32
/** So many steps are needed before one can be called unusual. */
const STEPS_NEEDED = 4
/** No logger steps by more; what does is looked at twice even where the usual step is not known. */
const LONGEST_STEP_S = 600
/** So many rows behind a gap, and at the beginning, are held until it shows that their time is in line. */
const HELD = 8

interface State {
  /** The time of the row before; NaN before the first. */
  readonly front: number
  /** From the time that stands in a row to that on one line. */
  readonly offset: number
}

interface Held extends TimedRow {
  readonly before: State
  readonly timeS: number
}

/** A row's time behind another, over midnight. */
function behind({ raw, wrapS }: TimedRow, { front, offset }: State): number {
  const time = raw + offset
  return time < front - wrapS / 2 && wrapS > 0 ? time + wrapS : time
}

/**
 * @param take gets the rows in their order, with time counted from the first of them and whether a gap lies before it
 * @param drop gets the rows whose time is out of line with those around them
 */
export function createClock(
  take: (row: TimedRow, timeS: number, isBehindGap: boolean) => void,
  drop: (row: TimedRow) => void,
): LogClock {
  const gaps: LogGap[] = []
  const steps: number[] = []
  let held: Held[] = []
  let gapCount = 0
  let start = Number.NaN
  let last = Number.NaN
  let state: State = { front: Number.NaN, offset: 0 }
  let usual = Number.NaN

  const learn = (step: number): void => {
    if (steps.length >= STEPS_LEARNT || Number.isNaN(step)) return
    steps.push(step)
    usual = upperMedianOf(steps) as number
  }
  const isFar = (step: number): boolean => step > GAP_FACTOR * (steps.length >= STEPS_NEEDED ? usual : LONGEST_STEP_S)
  const accept = (row: TimedRow, timeS: number): void => {
    if (Number.isNaN(start)) start = timeS
    const step = timeS - last
    const isGap = steps.length >= STEPS_NEEDED && usual > 0 && step > GAP_FACTOR * usual
    if (isGap) {
      gapCount++
      if (gaps.length < GAPS_KEPT) gaps.push({ fromS: last - start, toS: timeS - start })
    }
    last = timeS
    take(row, timeS - start, isGap)
  }
  const flush = (): void => {
    const rows = held
    held = []
    for (const row of rows) accept(row, row.timeS)
  }
  /** Whether a held row went far ahead, and this one is where it should have been. */
  const isOut = ({ before, timeS }: Held, row: TimedRow): boolean => {
    const here = behind(row, before)
    const isFirst = Number.isNaN(before.front)
    const fits = isFirst ? behind(row, state) < state.front : here >= before.front
    return here < timeS && fits && isFar(timeS - (isFirst ? here : before.front))
  }
  return {
    offer: (row, place) => {
      let timeS = behind(row, state)
      if (timeS < state.front && place === 'behind-header') {
        flush()
        // How long the logger stood still is not known: long enough for a gap.
        timeS = state.front + 2 * GAP_FACTOR * (usual > 0 ? usual : 1)
      } else if (held.length > 0) {
        const out = held.findIndex(one => isOut(one, row))
        if (out >= 0) {
          state = (held[out] as Held).before
          for (const one of held.splice(out)) drop(one)
          timeS = behind(row, state)
        }
      }
      if (timeS < state.front) return false
      const before = state
      const step = timeS - before.front
      const isHeld = Number.isNaN(last) || held.length > 0 || isFar(step)
      learn(step)
      state = { front: timeS, offset: timeS - row.raw }
      if (!isHeld) accept(row, timeS)
      else if (held.push({ ...row, values: row.values.slice(), before, timeS }) > HELD) flush()
      return true
    },
    flush,
    gaps,
    get gapCount() {
      return gapCount
    },
  }
}
