/** Rounds of several works by turns, with the main thread's processor time beside what the clock shows. */

import { setImmediate } from 'node:timers/promises'
import { quantile } from '../rounds.ts'

/** Milliseconds of one call. */
interface Cost {
  readonly wallMs: number
  readonly cpuMs: number
}

/** A figure over several rounds: its median, and the quarters that lie below and above the middle half. */
export interface Spread {
  readonly median: number
  readonly low: number
  readonly high: number
}

export interface Measured {
  readonly wallMs: Spread
  readonly cpuMs: Spread
  readonly rounds: number
}

export function spreadOf(values: readonly number[]): Spread {
  const sorted = [...values].sort((a, b) => a - b)
  return { median: quantile(sorted, 0.5), low: quantile(sorted, 0.25), high: quantile(sorted, 0.75) }
}

/** Ours through theirs, from spreads of both: the middle, and the two ends that lie furthest apart. */
export function ratioOf(ours: Spread, theirs: Spread): Spread {
  return { median: ours.median / theirs.median, low: ours.low / theirs.high, high: ours.high / theirs.low }
}

async function costOf(work: () => unknown): Promise<Cost> {
  const cpu = process.threadCpuUsage()
  const start = performance.now()
  await work()
  const wallMs = performance.now() - start
  const { user, system } = process.threadCpuUsage(cpu)
  return { wallMs, cpuMs: (user + system) / 1000 }
}

/**
 * What each of these works costs: `rounds` calls of each by turns, after as many as a third of them to warm up. A work is
 * called with a number that never comes twice.
 */
export async function byTurns(
  works: readonly ((call: number) => unknown)[],
  rounds: number,
): Promise<readonly Measured[]> {
  const costs = works.map((): Cost[] => [])
  const warm = Math.ceil(rounds / 3)
  for (let call = 0; call < warm + rounds; call++) {
    for (const [index, work] of works.entries()) {
      // What a weak reference has led to lives until other tasks have had their turn.
      await setImmediate()
      globalThis.gc?.()
      const cost = await costOf(() => work(call))
      if (call >= warm) costs[index]?.push(cost)
    }
  }
  return costs.map(each => ({
    wallMs: spreadOf(each.map(({ wallMs }) => wallMs)),
    cpuMs: spreadOf(each.map(({ cpuMs }) => cpuMs)),
    rounds,
  }))
}
