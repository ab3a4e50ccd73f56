/** What the bench has shown of a part's voltages, as far as predictions ask for it. */

import type { Definition } from './definitions.ts'

/** A run that stopped at a voltage that is taken for enough. */
export interface Contradiction {
  readonly run: string
  /** Where it is written. */
  readonly definition: Definition
  readonly ratio: number
  /** At the die when it stopped, in V. */
  readonly voltageV: number
  /** What `needs` asks for at that ratio, temperature and load, in V. */
  readonly statedV: number
  /** When it stopped, in s after its start. */
  readonly afterS: number
  /** What was seen, in the person's words. */
  readonly what: string
}

/** The evidence on one part. The same object as long as nothing of it changed. */
export interface Evidence {
  /** The same of one group of cores, where they are of several kinds; undefined where nothing was tried of it. */
  ofGroup(name: string): Evidence | undefined
  /**
   * The run that speaks against a voltage at a ratio; undefined where none does, or where the voltage is likely enough
   * all the same.
   * @param comparableV the die voltage in V, less what temperature and vector load ask for beyond the rows of `needs`
   */
  against(ratio: number, comparableV: number): Contradiction | undefined
  /**
   * How probable it is that a load holds for a time at a ratio and voltage, stops that are not the voltage's aside;
   * undefined where nothing near that ratio was tried.
   */
  holds(ratio: number, comparableV: number, forS: number): number | undefined
}
