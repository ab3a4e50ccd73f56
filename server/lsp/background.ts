/** Runs over time, made while nobody waits. */

import type { Service } from '../service.ts'
import { sliceMs, turn } from './turns.ts'

/**
 * Runs over time, made while nobody waits: expectations that are to hold for a time rest on them, and one run takes
 * from tens of milliseconds to a second. They are made in slices shorter than a frame, so that messages go between.
 */
export interface Background {
  /** Findings were just made: whatever run they wait for is made soon. */
  wake(): void
  /** A text changed: what was asked for may be out of date, and typing comes first. */
  typed(): void
  stop(): void
}

/** How long nothing must have been typed. */
const restMs = 250

/** @param made called once after the runs that were pending are made */
export function createBackground(runs: Service['runs'], made: () => void): Background {
  let timer: ReturnType<typeof setTimeout> | undefined
  /** The work that goes on; another, or none, once something is typed. */
  let going: object | undefined
  const work = async (own: object): Promise<void> => {
    timer = undefined
    let isMade = false
    while (runs.pending() > 0) {
      await turn('folders')
      if (going !== own) return
      runs.makeSome(sliceMs)
      isMade = true
    }
    going = undefined
    if (isMade) made()
  }
  const stop = (): void => {
    clearTimeout(timer)
    timer = undefined
    going = undefined
  }
  return {
    wake: () => {
      if (going !== undefined || runs.pending() === 0) return
      const own = {}
      going = own
      timer = setTimeout(() => void work(own), restMs)
    },
    typed: () => {
      stop()
      runs.forget()
    },
    stop,
  }
}

/** Asks for findings again, of every open file; those of closed ones follow where the client asks for them. */
export function tellAll(
  session: { readonly open: ReadonlyMap<string, unknown>; readonly found: ReadonlySet<string> },
  changed: (uris: Iterable<string>, origin: string | undefined) => void,
): void {
  changed([...session.open.keys(), ...session.found], undefined)
}
