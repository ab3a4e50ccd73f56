/** What a proposal is asked for beyond the profile itself. */
import type { Proof } from '../../semantic/proof.ts'

export interface ProposeOptions {
  /** By the name of a load; 1 for those that are not there. */
  readonly weights: ReadonlyMap<string, number>
  readonly yields: ReadonlySet<string>
  /** What must be left to the die limit. */
  readonly marginW: number | undefined
  /** What the die stays at or below. */
  readonly dieC: number | undefined
  /** The voltage that trials ask for, in place of `needs`. */
  readonly stable: Proof | undefined
  /** Between 0 and 1: how probable it is that each case is sound. */
  readonly probability: number | undefined
  readonly rows: number | undefined
  readonly bands: number
}

/** Rows of bands over any count where nothing is said. */
const usualBands = 2

export const nothingAsked: ProposeOptions = {
  weights: new Map(),
  yields: new Set(),
  marginW: undefined,
  dieC: undefined,
  stable: undefined,
  probability: undefined,
  rows: undefined,
  bands: usualBands,
}
