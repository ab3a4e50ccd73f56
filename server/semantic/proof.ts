/** What a part asks of a voltage before it counts as enough. */
import { type Definition, entry, quantity } from './definitions.ts'

export interface Proof {
  /** Between 0 and 1. */
  readonly probability: number
  readonly forS: number
}

/** 95 % for an hour. */
export const usualProof: Proof = { probability: 0.95, forS: 3600 }

/** The part's `proof`, or the usual one. */
export function proofOf({ match }: Definition): Proof {
  const stated = entry(match, 'proof')
  const [probability, time] = [stated && quantity(stated, 'probability'), stated && quantity(stated, 'for')]
  if (probability === undefined || time === undefined) return usualProof
  return { probability: probability.value / 100, forS: time.value }
}
