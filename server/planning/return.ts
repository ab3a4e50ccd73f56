/** The `return` of all bands: the smallest with which every clock comes back, and none goes back and forth too fast. */
import type { Plan, Swing } from './types.ts'

/** The widest `return` that is tried, in K. */
const WIDEST_K = 5

/**
 * The smallest whole kelvin with which no case goes back and forth too fast or does not come back; else the widest that
 * all come back from.
 * @param cases those under bands: what each does with a `return`, in K
 */
export function* smallestReturn(
  cases: readonly ((returnK: number) => Swing)[],
): Generator<undefined, Pick<Plan, 'returnK' | 'isFast'>> {
  const order = [...cases]
  let widest = 0
  for (let returnK = 0; returnK <= WIDEST_K; returnK++) {
    let [serves, isFast] = [true, false]
    for (const [place, swing] of order.entries()) {
      const { failure, latches, isFast: fast } = swing(returnK)
      yield
      isFast ||= fast
      serves = failure === undefined && !latches
      if (serves && !fast) continue
      // What decided here is likely to decide the next one.
      order.unshift(...order.splice(place, 1))
      break
    }
    if (serves && !isFast) return { returnK, isFast: false }
    if (serves) {
      // It is too fast; whether all come back with it decides whether it is the widest.
      let comeBack = true
      for (const swing of order) {
        const { failure, latches } = swing(returnK)
        yield
        comeBack &&= failure === undefined && !latches
        if (!comeBack) break
      }
      if (comeBack) widest = returnK
    }
  }
  return { returnK: widest, isFast: true }
}
