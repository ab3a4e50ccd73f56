/**
 * Loaded into a server before its own code: notes how long its one thread works without letting messages in, and answers
 * with that, its processor time and its memory over a channel of its own.
 */

/** Since it was last asked. */
export interface Probed {
  /** The most processor time between two looks of a timer that is due each millisecond. */
  readonly longestCpuMs: number
  readonly longestWallMs: number
  readonly cpuMs: number
  readonly heapMb: number
  readonly residentMb: number
}

const cpuNow = (): number => {
  const { user, system } = process.threadCpuUsage()
  return (user + system) / 1000
}

let [cpu, wall] = [cpuNow(), performance.now()]
let [longestCpuMs, longestWallMs] = [0, 0]
let since = cpu

const look = (): void => {
  const [nextCpu, nextWall] = [cpuNow(), performance.now()]
  longestCpuMs = Math.max(longestCpuMs, nextCpu - cpu)
  longestWallMs = Math.max(longestWallMs, nextWall - wall)
  cpu = nextCpu
  wall = nextWall
}

setInterval(look, 1).unref()

process.on('message', () => {
  look()
  const answer = { longestCpuMs, longestWallMs, cpuMs: cpu - since }
  globalThis.gc?.()
  const { heapUsed, external, rss } = process.memoryUsage()
  process.send?.({ ...answer, heapMb: (heapUsed + external) / 1e6, residentMb: rss / 1e6 } satisfies Probed)
  ;[cpu, wall] = [cpuNow(), performance.now()]
  ;[longestCpuMs, longestWallMs, since] = [0, 0, cpu]
})
// The channel alone does not keep the server alive.
process.channel?.unref()
