/** Runs over time, made while nobody waits. */

import type { Service } from '../service.ts'

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

/** How long runs are worked on before messages are let in. */
const sliceMs = 8

/** How long nothing must have been typed. */
const restMs = 250

/** @param made called once after the runs that were pending are made */
export function createBackground(runs: Service['runs'], made: () => void): Background {
  let timer: ReturnType<typeof setTimeout> | undefined
  const step = (): void => {
    timer = undefined
    if (runs.pending() === 0) return
    runs.makeSome(sliceMs)
    if (runs.pending() > 0) timer = setTimeout(step)
    else made()
  }
  return {
    wake: () => {
      if (timer === undefined && runs.pending() > 0) timer = setTimeout(step, restMs)
    },
    typed: () => {
      clearTimeout(timer)
      timer = undefined
      runs.forget()
    },
    stop: () => clearTimeout(timer),
  }
}

/** Asks for findings again, of every open file; those of closed ones follow where the client asks for them. */
export function tellAll(
  session: { readonly open: ReadonlyMap<string, unknown>; readonly found: ReadonlySet<string> },
  changed: (uris: Iterable<string>, origin: string | undefined) => void,
): void {
  changed([...session.open.keys(), ...session.found], undefined)
}
