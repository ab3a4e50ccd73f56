/** How much is measured. */

export interface Size {
  /** Lines of the text that the first table is about. */
  readonly lines: number
  readonly rounds: number
  /** Edits of a server, one after the other. */
  readonly edits: number
  /** Starts of a server. */
  readonly starts: number
  /** Characters typed in one burst. */
  readonly characters: number
  /** Lines of the three long texts that are typed in. */
  readonly typedLines: readonly number[]
  /** Bytes of each of ten long logs. */
  readonly logBytes: number
}

export const full: Size = {
  lines: 10_000,
  rounds: 9,
  edits: 200,
  starts: 7,
  characters: 60,
  typedLines: [10_000, 19_900, 100_000],
  logBytes: 5e6,
}

/** Smaller in rounds alone where that does: only the logs and the longest text are left out of a quick look. */
export const quick: Size = {
  lines: 10_000,
  rounds: 3,
  edits: 40,
  starts: 3,
  characters: 20,
  typedLines: [10_000],
  logBytes: 0,
}
