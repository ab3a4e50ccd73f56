import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, describe, expect, it } from 'vitest'
import { root } from '../../client/scripts/editor/cache.ts'
import { afterAgain, type Counts, readResultCounts, readVitestCounts } from '../editor/counts.ts'

const folder = mkdtempSync(join(tmpdir(), 'detent-counts-'))
afterAll(() => rmSync(folder, { recursive: true, force: true }))

function written(results: unknown): string {
  const path = join(folder, 'results.json')
  writeFileSync(path, JSON.stringify(results))
  return path
}

describe('counts of a test run', () => {
  it('name what failed in a vitest run, and why in a line', () => {
    const path = written({
      ...{ numPassedTests: 1, numFailedTests: 1, numPendingTests: 0, numTodoTests: 0 },
      testResults: [
        {
          ...{ name: join(root, 'tests/editor/look/a.look.ts'), status: 'failed', message: '' },
          assertionResults: [
            { ancestorTitles: [], title: 'a holds', status: 'passed', failureMessages: [] },
            {
              ancestorTitles: ['a bench'],
              title: 'b holds',
              status: 'failed',
              failureMessages: ['\u001b[31mError: not b\u001b[0m\n  at b.ts'],
            },
          ],
        },
      ],
    })
    expect(readVitestCounts('screen', path, 1, 5)).toEqual({
      ...{ kind: 'screen', passed: 1, failed: 1, skipped: 0, durationMs: 5 },
      failures: [{ name: 'a bench > b holds', file: 'tests/editor/look/a.look.ts', why: 'Error: not b' }],
    })
  })

  it('name a file that did not come to its tests', () => {
    const path = written({
      ...{ numPassedTests: 0, numFailedTests: 0, numPendingTests: 0, numTodoTests: 0 },
      testResults: [
        { name: join(root, 'tests/a.test.ts'), status: 'failed', message: 'SyntaxError: x', assertionResults: [] },
      ],
    })
    const { failed, failures } = readVitestCounts('unit', path, 1, 5)
    expect(failed).toBe(1)
    expect(failures).toEqual([{ name: 'tests/a.test.ts', file: 'tests/a.test.ts', why: 'SyntaxError: x' }])
  })

  it('name what failed within the editor', () => {
    const path = written([
      { name: 'a', state: 'passed' },
      { name: 'b', state: 'failed', message: 'Error: not b\n  at b.ts' },
    ])
    expect(readResultCounts('in the editor', path, 'ended', 5)).toEqual({
      ...{ kind: 'in the editor', passed: 1, failed: 1, skipped: 0, durationMs: 5 },
      failures: [{ name: 'b', why: 'Error: not b' }],
    })
  })
})

describe('a second try', () => {
  const first: Counts = {
    ...{ kind: 'screen', passed: 50, failed: 3, skipped: 0, durationMs: 100 },
    failures: ['a', 'b', 'c'].map(name => ({ name, why: 'late' })),
  }

  it('of the failed tests keeps what passed before, and what fails again', () => {
    const failures = [{ name: 'b', why: 'wrong' }]
    const again: Counts = { kind: 'screen', passed: 2, failed: 1, skipped: 4, durationMs: 10, failures }
    expect(afterAgain(first, again)).toEqual({
      ...{ kind: 'screen', passed: 52, failed: 1, skipped: 0, durationMs: 110, failures },
    })
  })

  it('in which all pass leaves no failure', () => {
    const again: Counts = { kind: 'screen', passed: 3, failed: 0, skipped: 4, durationMs: 10 }
    expect(afterAgain(first, again)).toEqual({ kind: 'screen', passed: 53, failed: 0, skipped: 0, durationMs: 110 })
  })

  it('of all tests stands for itself', () => {
    const again: Counts = { kind: 'screen', passed: 52, failed: 1, skipped: 0, durationMs: 10 }
    expect(afterAgain(first, again)).toEqual({ ...again, durationMs: 110 })
  })

  it('that broke leaves all failures as they were', () => {
    const again: Counts = { kind: 'screen', passed: 0, failed: 1, skipped: 0, reason: 'no results', durationMs: 10 }
    expect(afterAgain(first, again)).toEqual({ ...first, reason: 'no results', durationMs: 110 })
  })

  it('that ran none of them, or not all, leaves failures', () => {
    const none: Counts = { kind: 'screen', passed: 0, failed: 0, skipped: 7, durationMs: 10 }
    expect(afterAgain(first, none)).toMatchObject({ passed: 50, failed: 3, failures: first.failures })
    expect(afterAgain(first, { ...none, passed: 2 })).toMatchObject({ passed: 52, failed: 1, failures: first.failures })
  })

  it('says why tests were skipped in the first', () => {
    const again: Counts = { kind: 'screen', passed: 3, failed: 0, skipped: 0, durationMs: 10 }
    const skipped = { ...first, skipped: 2, reason: 'marked as skipped' }
    expect(afterAgain(skipped, again)).toMatchObject({ failed: 0, skipped: 2, reason: 'marked as skipped' })
  })
})
