import type { Definition } from './definitions.ts'

/** What the bench has shown of a part's voltages, as far as predictions ask for it. */

/** A run that stopped although its die had what `needs` asks for. */
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
  /**
   * The run that speaks against a voltage at a ratio; undefined where none does.
   * @param comparableV the die voltage in V, less what temperature and vector load ask for beyond the rows of `needs`
   */
  against(ratio: number, comparableV: number): Contradiction | undefined
  /** The run that speaks against the row of `needs` at a ratio. */
  againstRow(ratio: number): Contradiction | undefined
  /** What a run by itself speaks against, if it does. */
  of(run: Definition): Contradiction | undefined
}
