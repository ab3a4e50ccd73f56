/** Counts of the editor tests, read from what each runner wrote. */
import { existsSync, readdirSync, readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'

/** What one kind of test gave. */
export interface Counts {
  readonly kind: string
  readonly passed: number
  readonly failed: number
  readonly skipped: number
  /** Why tests were skipped, or why a run without a failed test failed all the same. */
  readonly reason?: string
  readonly durationMs: number
}

/** Reads the file that a suite within an editor wrote; `ended` is the runner's error, if any. */
export function readResultCounts(kind: string, path: string, ended: string | undefined, durationMs: number): Counts {
  if (!existsSync(path)) {
    return { kind, passed: 0, failed: 1, skipped: 0, reason: ended ?? 'the suite wrote no results', durationMs }
  }
  const results = JSON.parse(readFileSync(path, 'utf8')) as { state: string }[]
  const count = (state: string) => results.filter(result => result.state === state).length
  const failed = count('failed')
  const broken = failed === 0 && ended !== undefined
  return {
    kind,
    passed: count('passed'),
    failed: broken ? 1 : failed,
    skipped: count('skipped'),
    durationMs,
    ...(broken ? { reason: ended } : count('skipped') > 0 ? { reason: 'marked as skipped in the suite' } : {}),
  }
}

/** Reads the JSON report of a vitest run that ended with `status`. */
export function readVitestCounts(kind: string, path: string, status: number | null, durationMs: number): Counts {
  if (!existsSync(path)) {
    return { kind, passed: 0, failed: 1, skipped: 0, reason: `the run wrote no results (${status})`, durationMs }
  }
  const report = JSON.parse(readFileSync(path, 'utf8')) as {
    numPassedTests: number
    numFailedTests: number
    numPendingTests: number
    numTodoTests: number
  }
  const skipped = report.numPendingTests + report.numTodoTests
  const broken = report.numFailedTests === 0 && status !== 0
  return {
    kind,
    passed: report.numPassedTests,
    failed: broken ? 1 : report.numFailedTests,
    skipped,
    durationMs,
    ...(broken ? { reason: `the run ended with ${status}` } : skipped > 0 ? { reason: 'marked as skipped' } : {}),
  }
}

/** The tests that could not run, counted in their sources. */
export function skippedCounts(kind: string, folder: string, ending: string, reason: string): Counts {
  const sources = readdirSync(folder, { recursive: true, encoding: 'utf8' }).filter(name => name.endsWith(ending))
  const tests = sources.flatMap(name => readFileSync(join(folder, name), 'utf8').match(/^\s*(?:it|test)\(/gm) ?? [])
  return { kind, passed: 0, failed: 0, skipped: tests.length, reason, durationMs: 0 }
}

/** Prints one line a kind and writes the file that the whole run reads. */
export function writeSummary(folder: string, counts: readonly Counts[]): void {
  console.log('')
  for (const { kind, passed, failed, skipped, reason, durationMs } of counts) {
    const seconds = (durationMs / 1000).toFixed(0)
    const note = reason === undefined ? '' : `: ${reason}`
    console.log(`Editor tests (${kind}): ${passed} passed, ${failed} failed, ${skipped} skipped in ${seconds} s${note}`)
  }
  writeFileSync(join(folder, 'editor-summary.json'), `${JSON.stringify(counts, undefined, 2)}\n`)
}
