/** Counts of the editor tests, read from what each runner wrote. */
import { existsSync, readdirSync, readFileSync, writeFileSync } from 'node:fs'
import { join, relative } from 'node:path'
import { stripVTControlCharacters } from 'node:util'
import { root } from '../../client/scripts/editor/cache.ts'

/** What one kind of test gave. */
export interface Counts {
  readonly kind: string
  readonly passed: number
  readonly failed: number
  readonly skipped: number
  /** Why tests were skipped, or why a run without a failed test failed all the same. */
  readonly reason?: string
  readonly durationMs: number
  /** The tests that failed, each with its first line of why. */
  readonly failures?: readonly Failure[]
}

interface Failure {
  readonly name: string
  /** From the project's folder, where the runner tells it. */
  readonly file?: string
  readonly why: string
}

/** Reads the file that a suite within an editor wrote; `ended` is the runner's error, if any. */
export function readResultCounts(kind: string, path: string, ended: string | undefined, durationMs: number): Counts {
  if (!existsSync(path)) {
    return { kind, passed: 0, failed: 1, skipped: 0, reason: ended ?? 'the suite wrote no results', durationMs }
  }
  const results = JSON.parse(readFileSync(path, 'utf8')) as { name: string; state: string; message?: string }[]
  const failures = results.flatMap(({ name, state, message }) =>
    state === 'failed' ? [{ name, why: firstLine(message) }] : [],
  )
  const count = (state: string) => results.filter(result => result.state === state).length
  const failed = count('failed')
  const broken = failed === 0 && ended !== undefined
  return {
    kind,
    passed: count('passed'),
    failed: broken ? 1 : failed,
    skipped: count('skipped'),
    durationMs,
    ...(failures.length > 0 && { failures }),
    ...(broken ? { reason: ended } : count('skipped') > 0 ? { reason: 'marked as skipped in the suite' } : {}),
  }
}

interface VitestFile {
  readonly name: string
  readonly status: string
  readonly message: string
  readonly assertionResults: readonly {
    readonly ancestorTitles: readonly string[]
    readonly title: string
    readonly status: string
    readonly failureMessages: readonly string[] | null
  }[]
}

/** A file's tests that failed; the file itself where it did not come as far as its tests. */
function failuresIn({ name, status, message, assertionResults }: VitestFile): readonly Failure[] {
  const file = relative(root, name).replaceAll('\\', '/')
  const tests = assertionResults.filter(result => result.status === 'failed')
  if (tests.length === 0 && status === 'failed') return [{ name: file, file, why: firstLine(message) }]
  return tests.map(test => ({ name: nameOf(test), file, why: firstLine(test.failureMessages?.join('\n')) }))
}

/** As the runner's own pattern of names has it. */
function nameOf({ ancestorTitles, title }: VitestFile['assertionResults'][number]): string {
  return [...ancestorTitles.filter(one => one !== ''), title].join(' > ')
}

function firstLine(text: string | undefined): string {
  return (
    stripVTControlCharacters(text ?? '')
      .trim()
      .split('\n', 1)[0] ?? ''
  )
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
    testResults: readonly VitestFile[]
  }
  const failures = report.testResults.flatMap(failuresIn)
  const skipped = report.numPendingTests + report.numTodoTests
  // A file that does not come to its tests is no failed test of the report.
  const failed = Math.max(report.numFailedTests, failures.length)
  const broken = failed === 0 && status !== 0
  return {
    kind,
    passed: report.numPassedTests,
    failed: broken ? 1 : failed,
    skipped,
    durationMs,
    ...(failures.length > 0 && { failures }),
    ...(broken ? { reason: `the run ended with ${status}` } : skipped > 0 ? { reason: 'marked as skipped' } : {}),
  }
}

/** The tests that could not run, counted in their sources. */
export function skippedCounts(kind: string, folder: string, ending: string, reason: string): Counts {
  const sources = readdirSync(folder, { recursive: true, encoding: 'utf8' }).filter(name => name.endsWith(ending))
  const tests = sources.flatMap(name => readFileSync(join(folder, name), 'utf8').match(/^\s*(?:it|test)\(/gm) ?? [])
  return { kind, passed: 0, failed: 0, skipped: tests.length, reason, durationMs: 0 }
}

/**
 * What a kind gave in the end, where its tests that failed were tried once more.
 * @param again the counts of that second try: of all tests, or of those that failed. One of these that it did not run has failed.
 */
export function afterAgain(first: Counts, again: Counts): Counts {
  const durationMs = first.durationMs + again.durationMs
  const ranAll = again.passed + again.failed >= first.passed + first.failed
  if (ranAll) return { ...again, durationMs }
  const passedNow = Math.min(again.passed, first.failed)
  const failed = first.failed - passedNow
  const { failures, reason, ...rest } = first
  const seen = again.failures ?? []
  const left = failed > again.failed ? failures : seen
  const why = failed > again.failed ? (again.reason ?? 'the second try did not run them all') : again.reason
  return {
    ...rest,
    passed: first.passed + passedNow,
    failed,
    durationMs,
    ...(failed > 0 && left !== undefined && left.length > 0 && { failures: left }),
    ...(failed > 0 ? why !== undefined && { reason: why } : first.skipped > 0 && reason !== undefined && { reason }),
  }
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

/** What `writeSummary` wrote; nothing where no run came so far. */
export function readSummary(folder: string): readonly Counts[] {
  const path = join(folder, 'editor-summary.json')
  return existsSync(path) ? (JSON.parse(readFileSync(path, 'utf8')) as Counts[]) : []
}
