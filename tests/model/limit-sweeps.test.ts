import { describe, expect, it } from 'vitest'
import { settle } from '../../server/model/settle.ts'
import type { Bench, Corner, Limits, Load, Settled, ThermoelectricCooler } from '../../server/model/types.ts'
import { leastOf, sampled } from '../harness/sampled.ts'
import { allWanted, sampleOf } from '../oracle/generate.ts'

/**
 * Each limit swept across the value at which it begins to decide: the answer moves without a jump, or by one ratio-step
 * where a cap moves; it moves one way; and the limit is named where it decides, and nowhere else.
 */

interface Sample {
  readonly seed: number
  readonly bench: Bench
  readonly load: Extract<Load, { kind: 'work' }>
  readonly corner: Corner
  readonly free: Settled
}

const BENCHES_A_KIND = sampled('BENCHES_A_KIND', { usual: 2, whole: 4 })
const STEPS = 10
/** Differences below these between neighbours are no jump, as in the sweeps of air and drive. */
const DIE_K = 0.02
const CLOCK_MHZ = 1
/** What a search leaves. */
const TRACE = 1e-6

const settled = (bench: Bench, { load, corner }: Sample): Settled => {
  const found = settle(bench, load, corner)
  if (found === null) throw new Error('A step row covers every load of the samples.')
  return found
}

/** Benches of every kind without limits or bands of their own that settle below the die limit; no fan slows as it warms. */
const samples: readonly Sample[] = allWanted
  .map((wanted, index) => ({ wanted, index }))
  .filter(({ wanted }) => wanted.fan !== 'falling')
  .flatMap(({ wanted, index }) =>
    Array.from({ length: BENCHES_A_KIND }, (_, turn) => index + turn * allWanted.length).flatMap(seed => {
      const { bench: made, load, corner } = sampleOf(seed, wanted)
      if (load.kind !== 'work') return []
      const bench = { ...made, profile: { ...made.profile, limits: {}, bands: [] } }
      const free = settle(bench, load, corner)
      return free?.state === 'steady' ? [{ seed, bench, load, corner, free }] : []
    }),
  )

const limited = ({ bench }: Sample, limits: Limits): Bench => ({ ...bench, profile: { ...bench.profile, limits } })

/** Both sides of the jump between two values, found by halving; undefined where what lies between closes. */
function jumpBetween(
  at: (value: number) => Settled,
  jumps: (one: Settled, other: Settled) => boolean,
  from: number,
  to: number,
): readonly [Settled, Settled] | undefined {
  let [low, high, one, other] = [from, to, at(from), at(to)]
  for (let round = 0; round < 32 && jumps(one, other); round++) {
    const middle = (low + high) / 2
    const between = at(middle)
    if (jumps(one, between)) [high, other] = [middle, between]
    else [low, one] = [middle, between]
  }
  return jumps(one, other) ? [one, other] : undefined
}

const isFold = (one: Settled, other: Settled): boolean =>
  one.dieC === null || other.dieC === null || Math.max(one.notes.slope ?? 0, other.notes.slope ?? 0) > 0.9

const apart = (one: Settled, other: Settled): boolean =>
  Math.abs((one.dieC ?? 0) - (other.dieC ?? 0)) > DIE_K ||
  Math.abs((one.clockMhz ?? 0) - (other.clockMhz ?? 0)) > CLOCK_MHZ

interface Sweep {
  readonly seed: number
  readonly name: string
  readonly span: readonly [from: number, to: number]
  readonly at: (value: number) => Settled
  /** What is wrong with one answer. */
  readonly fault: (value: number, found: Settled) => string | undefined
  /** What may not fall on the way up. */
  readonly rising: (found: Settled) => number
  /** Whether two neighbours are too far apart to lie on one course. */
  readonly jumps?: (one: Settled, other: Settled) => boolean
  readonly mayJump?: (one: Settled, other: Settled) => boolean
}

/** What is wrong along a sweep upward. */
function faultsOf({ seed, name, span, at, fault, rising, jumps = apart, mayJump = isFold }: Sweep): string[] {
  const faults: string[] = []
  const say = (value: number, what: string): void => {
    faults.push(`seed ${seed}, ${name} ${value}: ${what}`)
  }
  let before: { readonly value: number; readonly found: Settled } | undefined
  for (let step = 0; step <= STEPS; step++) {
    const value = span[0] + ((span[1] - span[0]) * step) / STEPS
    const found = at(value)
    const what = fault(value, found)
    if (what !== undefined) say(value, what)
    if (before !== undefined) {
      const [less, more] = [rising(before.found), rising(found)]
      if (more < less - TRACE) say(value, `${more}, but ${less} at ${before.value}`)
      const jump = jumpBetween(at, jumps, before.value, value)
      if (jump !== undefined && !mayJump(...jump))
        say(value, `jumps from ${jump[0].clockMhz} to ${jump[1].clockMhz} MHz, ${jump[0].dieC} to ${jump[1].dieC} °C`)
    }
    before = { value, found }
  }
  return faults
}

const clockGhz = (found: Settled): number => (found.clockMhz ?? 0) / 1000
const driveA = (found: Settled): number => found.driveA ?? 0

/** What is wrong with the limiter of an answer, if it is not the wanted one. */
const misnamed = (found: Settled, wanted: Settled['limiter']): string | undefined =>
  found.limiter === wanted ? undefined : `limited by ${found.limiter} instead of ${wanted}`

/** Counts how often a limit decided and how often not, so that the sweep is known to cross it. */
const decided = new Map<string, [number, number]>()
const note = (name: string, does: boolean): void => {
  const counts = decided.get(name) ?? [0, 0]
  counts[does ? 0 : 1]++
  decided.set(name, counts)
}

describe('a limit swept across the value at which it begins to decide', () => {
  it('is there to be swept: benches of every kind settle without one', () => {
    expect(samples.length).toBeGreaterThan(leastOf(60, 0.5))
    expect(new Set(samples.map(({ bench }) => bench.cooler.kind)).size).toBe(4)
  })

  it('sustained power: the clock follows it down to the lowest ratio, and stays there', { timeout: 300_000 }, () => {
    const faults = samples.flatMap(of => {
      const freeW = of.free.powerW as number
      const { ratioLow } = of.bench.part
      const crawling = settled(
        {
          ...of.bench,
          profile: { ...of.bench.profile, steps: [{ fromCores: 1, toCores: 999, ratio: ratioLow }] },
        },
        of,
      )
      const leastW = crawling.powerW ?? 0
      const named = (value: number, found: Settled): string | undefined => {
        if (value >= freeW * (1 + 1e-9)) {
          note('sustained', false)
          return misnamed(found, of.free.limiter)
        }
        if (value >= freeW * (1 - 1e-9)) return undefined
        note('sustained', true)
        const off = misnamed(found, 'sustained-power')
        if (off !== undefined) return off
        const isLowest = found.notes.sustainedOver
        if (isLowest !== value < leastW - TRACE * leastW && Math.abs(value - leastW) > TRACE * leastW)
          return `sustained-over is ${isLowest}, the lowest ratio takes ${leastW} W`
        if (isLowest) return found.ratio === ratioLow ? undefined : `${found.ratio}x is not the lowest ratio`
        return Math.abs((found.powerW ?? 0) - value) <= TRACE * value ? undefined : `${found.powerW} W is not the limit`
      }
      const at = (sustainedPowerW: number): Settled => settled(limited(of, { sustainedPowerW }), of)
      const span = [0.8 * leastW, 1.1 * freeW] as const
      return faultsOf({ seed: of.seed, name: 'sustained-power', span, at, fault: named, rising: clockGhz })
    })
    expect(faults).toEqual([])
  })

  it('die limit: the clock follows it, and the die stands at it while there is ratio to give back', {
    timeout: 300_000,
  }, () => {
    const faults = samples.flatMap(of => {
      const freeC = of.free.dieC as number
      const named = (value: number, found: Settled): string | undefined => {
        if (value > freeC + 1e-6) {
          note('die', false)
          return misnamed(found, of.free.limiter)
        }
        if (value > freeC - 1e-6) return undefined
        note('die', true)
        if (found.state === 'over-limit')
          return (found.ratio as number) <= of.bench.part.ratioLow + 1e-9
            ? undefined
            : 'over at a ratio that is not the lowest'
        if (found.state !== 'throttled') return `${found.state} below its own temperature`
        return (
          misnamed(found, 'die-limit') ??
          (found.dieC === value || (found.dieC ?? 0) < value ? undefined : `die at ${found.dieC} °C`)
        )
      }
      const at = (dieC: number): Settled => settled(limited(of, { dieC }), of)
      const span = [freeC - 25, Math.min(freeC + 5, of.bench.part.dieLimitC)] as const
      return faultsOf({ seed: of.seed, name: 'die', span, at, fault: named, rising: clockGhz })
    })
    expect(faults).toEqual([])
  })

  /** The two caps: what they hold is taken at the balance of the ratio, or at the die limit. */
  const caps: readonly (readonly [
    Settled['limiter'] & ('current' | 'burst-power'),
    (of: Settled) => number,
    (value: number) => Limits,
  ])[] = [
    ['current', of => of.currentA as number, currentA => ({ currentA })],
    ['burst-power', of => of.powerW as number, burstPowerW => ({ burstPowerW })],
  ]
  it.each(caps)(
    '%s: the clock comes down by one ratio-step after the other, and keeps it',
    { timeout: 300_000 },
    (limiter, figure, limitsOf) => {
      const faults = samples.flatMap(of => {
        const free = figure(of.free)
        const named = (value: number, found: Settled): string | undefined => {
          if (value >= free * (1 + 1e-9)) {
            note(limiter, false)
            return misnamed(found, of.free.limiter)
          }
          if (value >= free * (1 - 1e-9)) return undefined
          note(limiter, true)
          const off = misnamed(found, limiter)
          if (off !== undefined) return off
          if (found.notes.currentOver)
            return found.ratio === of.bench.part.ratioLow ? undefined : 'over at a ratio that is not the lowest'
          return figure(found) <= value * (1 + TRACE) ? undefined : `${figure(found)} is over it`
        }
        const at = (value: number): Settled => settled(limited(of, limitsOf(value)), of)
        // Ratios between two neighbours are left out where each takes more than the faster of the two.
        const takesAlone = (ratio: number): number => {
          const profile = { ...of.bench.profile, vectorDrop: 0, steps: [{ fromCores: 1, toCores: 999, ratio }] }
          return figure(settled({ ...of.bench, profile }, of))
        }
        const oneStep = (one: Settled, other: Settled): boolean => {
          const { ratioStep } = of.bench.part
          for (let ratio = (other.ratio ?? 0) - ratioStep; ratio > (one.ratio ?? 0) + 1e-9; ratio -= ratioStep)
            if (takesAlone(ratio) < figure(other) * (1 - TRACE)) return false
          return true
        }
        return faultsOf({
          seed: of.seed,
          name: limiter,
          span: [0.3 * free, 1.1 * free],
          at,
          fault: named,
          rising: clockGhz,
          mayJump: (one, other) => isFold(one, other) || oneStep(one, other),
        })
      })
      expect(faults).toEqual([])
    },
  )
})

describe('what a supply of the plate can give, swept across what its voltage asks for', () => {
  /** A voltage that drives some current well below `drive-current` with nothing in its way. */
  const plates = samples.flatMap(of => {
    const { cooler } = of.bench
    if (cooler.kind !== 'thermoelectric') return []
    const { supplyLimitA: _, ...unlimited } = cooler
    const bare: ThermoelectricCooler = { ...unlimited, driveCurrentA: 40 }
    const withU = (plate: ThermoelectricCooler, voltageV: number): Bench => ({
      ...of.bench,
      cooler: plate,
      profile: { ...of.bench.profile, drive: { kind: 'supply', voltageV } },
    })
    const series = cooler.wiringSeries ?? cooler.modules
    const voltageV = 3 * series
    const free = settle(withU(bare, voltageV), of.load, of.corner)
    return free?.state === 'steady' && free.notes.plate?.boundBy === 'none' && (free.driveA ?? 0) > 0.3
      ? [{ of, bare, withU, voltageV, free }]
      : []
  })

  const jumps = (one: Settled, other: Settled): boolean =>
    Math.abs(driveA(one) - driveA(other)) > 0.005 || apart(one, other)

  it('is there to be swept', () => {
    expect(plates.length).toBeGreaterThan(leastOf(20, 0.5))
  })

  it.each([
    [
      'supply-limit',
      (plate: ThermoelectricCooler, moduleA: number) => ({
        ...plate,
        supplyLimitA: moduleA * (plate.wiringParallel ?? 1),
      }),
    ],
    ['drive-current', (plate: ThermoelectricCooler, moduleA: number) => ({ ...plate, driveCurrentA: moduleA })],
  ] as const)('%s: the current follows it up to what is asked for, and it is named while it decides', (name, limit) => {
    const faults = plates.flatMap(({ of, bare, withU, voltageV, free }) => {
      const freeA = free.driveA as number
      const at = (moduleA: number): Settled => settled(withU(limit(bare, moduleA), voltageV), of)
      const fault = (value: number, { notes, driveA: flowing, state }: Settled): string | undefined => {
        if (state === 'runaway' || Math.abs(value - freeA) < TRACE * freeA) return undefined
        const isBound = value < freeA
        const by = notes.plate?.boundBy
        if (state === 'steady' && by !== (isBound ? name : 'none')) return `bound by ${by}`
        if (isBound && by === name && Math.abs((flowing ?? 0) - value) > TRACE) return `${flowing} A is not the limit`
        return undefined
      }
      return faultsOf({ seed: of.seed, name, span: [0.5 * freeA, 1.3 * freeA], at, fault, rising: driveA, jumps })
    })
    expect(faults).toEqual([])
  })

  it('voltage: the current follows it from none to `drive-current`', () => {
    let [none, some, most] = [0, 0, 0]
    const faults = plates.flatMap(({ of, bare, withU, voltageV, free }) => {
      const plate = { ...bare, driveCurrentA: 1.2 * (free.driveA as number) }
      const at = (volts: number): Settled => settled(withU(plate, volts), of)
      const fault = (_value: number, { notes, driveA: flowing, state }: Settled): string | undefined => {
        if (state === 'runaway' || notes.plate === null) return undefined
        const { boundBy } = notes.plate
        if (boundBy === 'no-current') none++
        else if (boundBy === 'none') some++
        else most++
        const is = flowing ?? Number.NaN
        if (boundBy === 'no-current') return is === 0 ? undefined : `${is} A without current`
        if (boundBy === 'none') return is >= 0 && is <= plate.driveCurrentA ? undefined : `${is} A`
        return is === plate.driveCurrentA ? undefined : `${is} A is not the limit`
      }
      const span = [-1, 1.6 * voltageV] as const
      return faultsOf({ seed: of.seed, name: 'voltage', span, at, fault, rising: driveA, jumps })
    })
    expect(faults).toEqual([])
    expect(Math.min(none, some, most)).toBeGreaterThan(leastOf(10, 0.5))
  })
})

describe('every limit', () => {
  it('decided in part of its sweep and not in the other', () => {
    expect([...decided.keys()].sort()).toEqual(['burst-power', 'current', 'die', 'sustained'])
    for (const [name, [does, doesNot]] of decided) {
      expect(does, name).toBeGreaterThan(leastOf(200, 0.5))
      expect(doesNot, name).toBeGreaterThan(leastOf(50, 0.5))
    }
  })
})
