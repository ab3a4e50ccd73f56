import { describe, expect, it } from 'vitest'
import { findUnit } from '../../../grammar/units/units.ts'
import type { LogMapping } from '../../../server/bench/log/mapping.ts'
import { type LogSource, memoryLogs } from '../../../server/bench/log/source.ts'
import { createLogStore } from '../../../server/bench/log/store.ts'

const mapping: LogMapping = { columns: [{ kind: 'power', header: 'package', unit: findUnit('W')! }] }
const text = 'package\n100\n101\n'

/** A source that counts how often it was opened. */
function counted(logs: Record<string, string>): {
  readonly source: LogSource
  readonly opened: string[]
  readonly logs: Record<string, string>
} {
  const opened: string[] = []
  return {
    logs,
    opened,
    source: {
      open: uri => {
        opened.push(uri)
        return memoryLogs(logs).open(uri)
      },
    },
  }
}

describe('logs that were read', () => {
  it('are kept by address and mapping', async () => {
    const { source, opened } = counted({ a: text })
    const store = createLogStore(source)
    expect(store.reading('a', mapping)).toBeUndefined()
    const first = await store.load('a', mapping)
    expect(await store.load('a', { ...mapping })).toBe(first)
    expect(store.reading('a', mapping)).toBe(first)
    expect(opened).toEqual(['a'])
    await store.load('a', { ...mapping, delimiter: ',' })
    expect(opened).toEqual(['a', 'a'])
  })

  it('are read once for all who wait', async () => {
    const { source, opened } = counted({ a: text })
    const store = createLogStore(source)
    const [one, two] = await Promise.all([store.load('a', mapping), store.load('a', mapping)])
    expect(one).toBe(two)
    expect(opened).toEqual(['a'])
  })

  it('are read again once they are forgotten, even while they are being read', async () => {
    const { source, opened, logs } = counted({ a: text })
    const store = createLogStore(source)
    const early = store.load('a', mapping)
    store.forget(['a'])
    logs.a = 'package\n200\n'
    await early
    expect(store.reading('a', mapping)).toBeUndefined()
    expect(await store.load('a', mapping)).toMatchObject({ rows: 1 })
    expect(opened).toHaveLength(2)
  })

  it('may be missing, and found again once forgotten', async () => {
    const { source, logs } = counted({})
    const store = createLogStore(source)
    expect(await store.load('a', mapping)).toEqual({ state: 'missing' })
    logs.a = text
    expect(await store.load('a', mapping)).toEqual({ state: 'missing' })
    store.forget(['a'])
    expect(await store.load('a', mapping)).toMatchObject({ state: 'read', rows: 2 })
  })

  it('are a bounded number', async () => {
    const { source, opened } = counted(Object.fromEntries(Array.from({ length: 100 }, (_, at) => [`log-${at}`, text])))
    const store = createLogStore(source)
    for (let at = 0; at < 100; at++) await store.load(`log-${at}`, mapping)
    expect(store.reading('log-0', mapping)).toBeUndefined()
    expect(store.reading('log-99', mapping)).toBeDefined()
    expect(opened).toHaveLength(100)
  })
})
