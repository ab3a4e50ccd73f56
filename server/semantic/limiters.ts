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

/** A limit as it holds on a bench. */
export interface LimitRow {
  readonly word: string
  /** Where the part has several supply rails and the limit holds for each by itself: the one in question. */
  readonly rail?: string
  /** In base units. */
  readonly value: number
  /** The figure that it limits. */
  readonly figureOf: (settled: SettledState) => number | null
}

/** What a word of `limits` comes to: one row, or with `current` one for each supply rail that has a limit. */
export function limitRows(bench: Bench, word: string): readonly LimitRow[] {
  const facts = limits[word]
  if (facts === undefined) return []
  const { groups } = bench.part
  if (word !== 'current' || groups === undefined) {
    const value = facts.valueOf(bench)
    return value === undefined ? [] : [{ word, value, figureOf: facts.figureOf }]
  }
  const { currentA, railCurrentA } = bench.profile.limits
  const rails = [...new Set(groups.map(({ rail }) => rail))]
  return rails.flatMap(rail => {
    const value = railCurrentA?.[rail] ?? currentA
    // Groups on one rail all state the current of that rail.
    const at = groups.findIndex(group => group.rail === rail)
    const figureOf = (settled: SettledState): number | null => settled.groups?.[at]?.currentA ?? null
    return value === undefined ? [] : [{ word, ...(rails.length > 1 && { rail }), value, figureOf }]
  })
}

/** `current`, or `current side` where it is of one supply rail of several. */
export function limitText({ word, rail }: LimitRow): string {
  return rail === undefined ? word : `${word} ${rail}`
}

/** The base unit of a limit, from its form in the vocabulary. */
export function limitUnit(word: string): string {
  const slot = findWord('limits', word)?.forms[0]?.find(one => one.slot === 'quantity')
  return slot?.slot === 'quantity' ? baseUnit[slot.dimension] : ''
}
