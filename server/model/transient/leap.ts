/**
 * Many ticks at once. From tick to tick the machine goes by a map x → G(x). Near where it is the map is as good as
 * straight, G(x₀ + z) = x₀ + c + A·z, and m ticks of a straight map are a power of it, found by squaring: exact however
 * far apart the time constants are. How straight G is, is measured: the tick itself is taken halfway and at the end. The
 * error found there, as if made at every tick, bounds the leap's error as long as it grows on the way.
 */

/** Puts the machine one tick after `from` into `to`. */
export type TickMap = (from: Float64Array, to: Float64Array) => void

/** A component of the machine in a leap. */
export interface LeapComponent {
  /** The change by which its column of the map's slopes is taken; 0: the tick does not ask it, `own` is its slope. */
  readonly nudge: number
  /** What is left of it after a tick, where nothing else depends on it. */
  readonly own: number
  /** How far off it may be at the end of a leap, for each tick of it where `isSum`. */
  readonly tolerance: number
  readonly isSum: boolean
}

export interface Leaper {
  /** Leaps begin here from now on. */
  begin(from: Float64Array): void
  /** The machine after so many ticks. */
  at(ticks: number, out: Float64Array): void
  /** How far off the machine is after 2^`power` ticks, over what is allowed; infinite where the numbers end. */
  errorAfter(power: number): number
}

/** Nothing is allocated after this but the map's powers, once each. */
export function createLeaper(tick: TickMap, components: readonly LeapComponent[]): Leaper {
  const size = components.length
  /** One more, which is always 1: the straight map's constant is its column. */
  const n = size + 1
  const powers: Float64Array[] = [new Float64Array(n * n)]
  let known = 0
  const vector = (): Float64Array => new Float64Array(size)
  const [origin, base, nudged] = [vector(), vector(), vector()]
  const [moved, here, off] = [vector(), vector(), vector()]
  const [way, ahead] = [new Float64Array(n), new Float64Array(n)]

  const multiply = (matrix: Float64Array, from: Float64Array, to: Float64Array): void => {
    for (let row = 0; row < n; row++) {
      let sum = 0
      for (let column = 0; column < n; column++) {
        sum += (matrix[row * n + column] as number) * (from[column] as number)
      }
      to[row] = sum
    }
  }
  const powerOf = (power: number): Float64Array => {
    for (; known <= power; known++) {
      const half = powers[known - 1] as Float64Array
      const whole = powers[known] ?? new Float64Array(n * n)
      powers[known] = whole
      for (let row = 0; row < n; row++) {
        for (let column = 0; column < n; column++) {
          let sum = 0
          for (let at = 0; at < n; at++) sum += (half[row * n + at] as number) * (half[at * n + column] as number)
          whole[row * n + column] = sum
        }
      }
    }
    return powers[power] as Float64Array
  }
  /** Puts the way from the beginning into `way`, after so many ticks. */
  const wayAfter = (ticks: number): void => {
    way.fill(0)
    way[size] = 1
    for (let power = 0; 2 ** power <= ticks; power++) {
      if ((Math.floor(ticks / 2 ** power) & 1) === 0) continue
      multiply(powerOf(power), way, ahead)
      way.set(ahead)
    }
  }
  const at = (ticks: number, out: Float64Array): void => {
    wayAfter(ticks)
    for (let index = 0; index < size; index++) out[index] = (origin[index] as number) + (way[index] as number)
  }
  /** What the straight map is off at one tick, put in at each of the leap, over what is allowed. */
  const errorOf = (ticks: number, power: number): number => {
    at(ticks, here)
    tick(here, moved)
    multiply(powerOf(0), way, ahead)
    for (let index = 0; index < size; index++) {
      off[index] = (moved[index] as number) - ((origin[index] as number) + (ahead[index] as number))
    }
    way.set(off)
    way[size] = 0
    for (let done = 0; done < power; done++) {
      multiply(powerOf(done), way, ahead)
      for (let index = 0; index < size; index++) way[index] = (way[index] as number) + (ahead[index] as number)
    }
    let most = 0
    for (let index = 0; index < size; index++) {
      const { tolerance, isSum } = components[index] as LeapComponent
      const share = Math.abs(way[index] as number) / (isSum ? tolerance * 2 ** power : tolerance)
      if (Number.isNaN(share)) return Number.POSITIVE_INFINITY
      if (share > most) most = share
    }
    return most
  }

  return {
    begin: from => {
      origin.set(from)
      tick(from, base)
      const matrix = powers[0] as Float64Array
      matrix.fill(0)
      known = 1
      for (let column = 0; column < size; column++) {
        const { nudge, own } = components[column] as LeapComponent
        if (nudge === 0) {
          matrix[column * n + column] = own
          continue
        }
        nudged.set(from)
        nudged[column] = (from[column] as number) + nudge
        // What was added is what the sum holds of it.
        const by = (nudged[column] as number) - (from[column] as number)
        tick(nudged, moved)
        for (let row = 0; row < size; row++) {
          matrix[row * n + column] = ((moved[row] as number) - (base[row] as number)) / by
        }
      }
      for (let row = 0; row < size; row++) matrix[row * n + size] = (base[row] as number) - (from[row] as number)
      matrix[size * n + size] = 1
    },
    at,
    errorAfter: power => {
      const half = errorOf(2 ** power / 2, power)
      const end = errorOf(2 ** power, power)
      return Math.max(half, end)
    },
  }
}
