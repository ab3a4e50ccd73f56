/** The sliding second of a clock: the sum of its ratios over the last ticks. */

export class Second {
  /** Over the last `windowTicks`, or over all where fewer have passed. */
  sum = 0
  passed = 0
  private readonly ring: Float64Array
  private lastRatio = Number.NaN
  /** Ticks at the ratio of the last. */
  private even = 0

  constructor(windowTicks: number) {
    this.ring = new Float64Array(windowTicks)
  }

  /** Whether as many ticks have passed as it is long. */
  get isFull(): boolean {
    return this.passed >= this.ring.length
  }

  /** Mean ratio; not a number before the first tick. */
  get mean(): number {
    return this.sum / Math.min(this.passed, this.ring.length)
  }

  tick(ratio: number): void {
    const slot = this.passed % this.ring.length
    this.sum += ratio - (this.ring[slot] as number)
    this.ring[slot] = ratio
    this.passed++
    this.even = ratio === this.lastRatio ? this.even + 1 : 1
    this.lastRatio = ratio
  }

  /** Whether all of it is at this ratio: ticks at the same change nothing but how many have passed. */
  isEvenAt(ratio: number): boolean {
    return this.even >= this.ring.length && ratio === this.lastRatio
  }

  /** So many ticks have passed at the ratio that it is even at. */
  pass(count: number): void {
    this.passed += count
  }
}
