/** What can hold a clock back, and what each limit of a profile judges. */
import { baseUnit } from '../../grammar/units/units.ts'
import { findWord } from '../../grammar/vocabulary/index.ts'
import type { Bench, Limiter, SettledState } from '../model/types.ts'

/** Whether it is the profile's own ratio that holds a clock, and no limit that takes some of it. */
const ownRatio: Readonly<Record<Limiter, boolean>> = {
  step: true,
  vector: true,
  band: true,
  'sustained-power': false,
  'burst-power': false,
  current: false,
  'die-limit': false,
  none: false,
}

export function isOwnRatio(limiter: Limiter): boolean {
  return ownRatio[limiter]
}

/** One key of `limits`. */
export interface LimitFacts {
  /** The limiter of a load that it holds back. */
  readonly limiter: Limiter
  /** What counts on a bench, in base units; undefined where nothing does. */
  readonly valueOf: (bench: Bench) => number | undefined
  /** The figure that it limits. */
  readonly figureOf: (settled: SettledState) => number | null
  /** Whether it acts on a load though it is not what its clock is held by. */
  readonly isExceeded: (settled: SettledState) => boolean
}

/** By the word of the language; every word of `limits` stands here. */
export const limits: Readonly<Record<string, LimitFacts>> = {
  die: {
    limiter: 'die-limit',
    valueOf: ({ part, profile }) => profile.limits.dieC ?? part.dieLimitC,
    figureOf: ({ dieC }) => dieC,
    isExceeded: ({ state }) => state === 'over-limit' || state === 'runaway',
  },
  'sustained-power': {
    limiter: 'sustained-power',
    valueOf: ({ profile }) => profile.limits.sustainedPowerW,
    figureOf: ({ powerW }) => powerW,
    isExceeded: ({ notes }) => notes.sustainedOver,
  },
  'burst-power': {
    limiter: 'burst-power',
    valueOf: ({ profile }) => profile.limits.burstPowerW,
    figureOf: ({ powerW }) => powerW,
    isExceeded: ({ notes }) => notes.currentOver,
  },
  current: {
    limiter: 'current',
    valueOf: ({ profile }) => profile.limits.currentA,
    figureOf: ({ currentA }) => currentA,
    isExceeded: ({ notes }) => notes.currentOver,
  },
}

/** The base unit of a limit, from its form in the vocabulary. */
export function limitUnit(word: string): string {
  const slot = findWord('limits', word)?.forms[0]?.find(one => one.slot === 'quantity')
  return slot?.slot === 'quantity' ? baseUnit[slot.dimension] : ''
}
