/**
 * Who works next: the one thread goes to what a person waits for most. Four things always hold:
 *
 * 1. Whatever is asked at the caret and costs little (completion, what is marked) is answered on arrival, and nothing is worked
 *    on for longer than a slice before messages are let in: so it never waits for more than one slice.
 * 2. Between two slices every message that has come is heard first: an edit, a request, one that is taken back.
 * 3. Then the first that waits in the highest rank goes on, for one slice: a lower rank works only while none above it waits.
 * 4. A request that an edit has overtaken before its turn is answered with "content modified", and nothing is made for it.
 *
 * A turn is no lock: whoever has it may wait for a file or for the client, and others work meanwhile.
 */

/** From the first to the last that is served: the caret, findings, what else is shown of a text, what was asked for, folders. */
export type Rank = 'caret' | 'findings' | 'shown' | 'asked' | 'folders'

/** Work goes on for so long at a time: half a frame, so that whatever is typed or asked comes between. */
export const sliceMs = 8

const inLine: readonly (readonly [Rank, (() => void)[]])[] = [
  ['caret', []],
  ['findings', []],
  ['shown', []],
  ['asked', []],
  ['folders', []],
]
const lineOf = new Map(inLine)

let heardSoFar = 0
let isServing = false

/** Whoever hears a message says so. */
export function heard(): void {
  heardSoFar++
}

/** Lets in one message that already waits, a cancellation among them. A worker has no `setImmediate`. */
function breath(): Promise<void> {
  return new Promise(resolve => {
    if (typeof setImmediate === 'function') setImmediate(resolve)
    else setTimeout(resolve)
  })
}

/** The library hands messages over one at a time: they are all in once none came while there was time for one. */
async function allHeard(): Promise<void> {
  for (let before = -1; before !== heardSoFar; ) {
    before = heardSoFar
    await breath()
  }
}

async function serve(): Promise<void> {
  isServing = true
  for (;;) {
    await allHeard()
    const next = inLine.find(([, line]) => line.length > 0)?.[1].shift()
    if (next === undefined) break
    // Its slice runs to its end before the next breath.
    next()
  }
  isServing = false
}

/** Resolves when it is the turn of one of this rank. */
export function turn(rank: Rank): Promise<void> {
  return new Promise(resolve => {
    lineOf.get(rank)?.push(resolve)
    if (!isServing) void serve()
  })
}

/** Lets others in, at most once a slice. */
export interface Slices {
  /** Undefined where the slice is not over: a loop over thousands of small things then waits for nothing. */
  rest(): Promise<void> | undefined
}

/** @param lastMs how long work goes on at a time */
export function createSlices(rank: Rank, lastMs = sliceMs): Slices {
  let since = performance.now()
  return {
    rest: () => {
      if (performance.now() - since < lastMs) return undefined
      return turn(rank).then(() => {
        since = performance.now()
      })
    },
  }
}
