/** Timing: warm up, several rounds of the same work, medians. */

export function quantile(sorted: readonly number[], share: number): number {
  const at = share * (sorted.length - 1)
  const low = sorted[Math.floor(at)] as number
  const high = sorted[Math.ceil(at)] as number
  return low + (high - low) * (at - Math.floor(at))
}

function median(values: readonly number[]): number {
  return quantile(
    [...values].sort((a, b) => a - b),
    0.5,
  )
}

/**
 * Milliseconds that one call takes: the median over `rounds` rounds, each of as many calls as fill `roundMs`.
 * The work is called with a number that never comes twice, so that nothing can be kept from the call before.
 */
export function msPerCall(work: (call: number) => unknown, { rounds = 9, roundMs = 120 } = {}): number {
  let call = 0
  const runFor = (ms: number): number => {
    const start = performance.now()
    let calls = 0
    let now = start
    do {
      work(call++)
      calls++
      now = performance.now()
    } while (now - start < ms)
    return (now - start) / calls
  }
  runFor(3 * roundMs)
  return median(Array.from({ length: rounds }, () => runFor(roundMs)))
}

/** Milliseconds of each of `calls` calls, sorted, after as many again to warm up. */
export function sortedMs(work: (call: number) => unknown, calls: number): readonly number[] {
  return sortedMsByTurns([work], calls)[0] as readonly number[]
}

/** The same for several works, one call of each after the other: what slows the machine meanwhile slows all of them. */
export function sortedMsByTurns(
  works: readonly ((call: number) => unknown)[],
  calls: number,
): readonly (readonly number[])[] {
  const times = works.map((): number[] => [])
  for (let call = 0; call < 2 * calls; call++) {
    for (const [index, work] of works.entries()) {
      const start = performance.now()
      work(call)
      if (call >= calls) times[index]?.push(performance.now() - start)
    }
  }
  return times.map(each => each.sort((a, b) => a - b))
}
