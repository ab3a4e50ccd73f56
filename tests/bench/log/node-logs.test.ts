import { mkdtemp, rm, writeFile } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, describe, expect, it } from 'vitest'
import { findUnit } from '../../../grammar/units/units.ts'
import { readLog } from '../../../server/bench/log/reader.ts'
import { uriOfPath } from '../../../server/workspace/node-files.ts'
import { nodeLogs } from '../../harness/file-systems.ts'

const folder = await mkdtemp(join(tmpdir(), 'detent-logs-'))
afterAll(() => rm(folder, { recursive: true }))

const columns = [{ kind: 'power' as const, header: 'package', unit: findUnit('W')! }]

describe('logs on disk', () => {
  it('are read piece by piece, with their size', async () => {
    const path = join(folder, 'ä log.csv')
    const text = `time,package\n${Array.from({ length: 60_000 }, (_, at) => `${at},${180 + (at % 5)}`).join('\n')}\n`
    await writeFile(path, text)
    const pieces: number[] = []
    let total: number | undefined
    const onProgress = (bytes: number, size: number | undefined): void => {
      pieces.push(bytes)
      total = size
    }
    const log = await readLog(nodeLogs, uriOfPath(path), { columns }, { onProgress })
    expect(log).toMatchObject({ state: 'read', rows: 60_000 })
    expect(total).toBe(text.length)
    expect(pieces.length).toBeGreaterThan(1)
    expect(pieces.at(-1)).toBe(total)
  })

  it('that are not there, or are folders, or elsewhere, are missing or unreadable', async () => {
    const read = (uri: string) => readLog(nodeLogs, uri, { columns })
    expect(await read(uriOfPath(join(folder, 'none.csv')))).toEqual({ state: 'missing' })
    expect(await read('untitled:log')).toEqual({ state: 'missing' })
    expect((await read(uriOfPath(folder))).state).toBe('unreadable')
  })
})
