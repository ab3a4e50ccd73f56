/** Logs that were read, kept while they are the same. */

import type { LogMapping } from './mapping.ts'
import { type LogResult, type ReadOptions, readLog } from './reader.ts'
import type { LogSource } from './source.ts'

/** Logs that were read, kept by address and mapping. */
export interface LogStore {
  /** What is there at once; undefined where it has not been read. */
  reading(uri: string, mapping: LogMapping): LogResult | undefined
  /** Reads a log, or returns what was read before. A second call while it is being read waits for the first. */
  load(uri: string, mapping: LogMapping, options?: ReadOptions): Promise<LogResult>
  /** Forgets what was read of these files, as when they changed. */
  forget(uris: Iterable<string>): void
}

/** A reading weighs up to half a megabyte; the ones longest unused go first. */
const KEPT = 64

function keyOf(mapping: LogMapping): string {
  const { columns, delimiter, decimal } = mapping
  return JSON.stringify([columns.map(({ kind, header, unit }) => [kind, header, unit.symbol]), delimiter, decimal])
}

export function createLogStore(source: LogSource): LogStore {
  const kept = new Map<string, { readonly uri: string; readonly reading: LogResult }>()
  const running = new Map<string, Promise<LogResult>>()
  const keyFor = (uri: string, mapping: LogMapping): string => `${uri}\n${keyOf(mapping)}`

  const reading = (uri: string, mapping: LogMapping): LogResult | undefined => {
    const key = keyFor(uri, mapping)
    const found = kept.get(key)
    if (found === undefined) return undefined
    kept.delete(key)
    kept.set(key, found)
    return found.reading
  }
  return {
    reading,
    load: (uri, mapping, options) => {
      const known = reading(uri, mapping)
      if (known !== undefined) return Promise.resolve(known)
      const key = keyFor(uri, mapping)
      const before = running.get(key)
      if (before !== undefined) return before
      const started = readLog(source, uri, mapping, options)
        .then(found => {
          // Forgotten while it was read: what was read may be of the old file.
          if (running.get(key) === started) kept.set(key, { uri, reading: found })
          for (const oldest of kept.keys()) {
            if (kept.size <= KEPT) break
            kept.delete(oldest)
          }
          return found
        })
        .finally(() => {
          if (running.get(key) === started) running.delete(key)
        })
      running.set(key, started)
      return started
    },
    forget: uris => {
      const gone = new Set(uris)
      for (const [key, { uri }] of kept) if (gone.has(uri)) kept.delete(key)
      for (const key of running.keys()) if (gone.has(key.slice(0, key.indexOf('\n')))) running.delete(key)
    },
  }
}
