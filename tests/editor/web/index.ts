/**
 * Runs inside the editor's web worker, where extensions have no Node: runs the bundled spec with mocha's build for
 * browsers, prints each test's result, and hands all results to the launcher through the console.
 */
import 'mocha/mocha.js'

interface Result {
  readonly name: string
  readonly state: 'passed' | 'failed' | 'skipped'
  readonly durationMs: number
  readonly message?: string
}

/** Called by the editor. Errors: rejects when a test failed or none ran. */
export async function run(): Promise<void> {
  const results: Result[] = []
  const record = (test: Mocha.Test | Mocha.Hook, state: Result['state'], error?: Error): void => {
    const name = test.titlePath().join(' › ')
    const message = error && (error.stack ?? error.message)
    results.push({ name, state, durationMs: test.duration ?? 0, ...(message === undefined ? {} : { message }) })
    const mark = { passed: '✓', failed: '✗', skipped: '-' }[state]
    console.log(`  ${mark} ${name} (${test.duration ?? 0} ms)${message === undefined ? '' : `\n${message}`}`)
  }
  const reporter = class {
    constructor(runner: Mocha.Runner) {
      runner.on('pass', test => record(test, 'passed'))
      runner.on('pending', test => record(test, 'skipped'))
      runner.on('fail', (test, error: Error) => record(test, 'failed', error))
    }
  } as unknown as Mocha.ReporterConstructor
  // Given at once: left to itself, mocha would look for a page to write to.
  mocha.setup({ ui: 'bdd', timeout: 90_000, reporter })
  await import('./web.spec.ts')
  await new Promise<void>(resolve => {
    mocha.run(() => resolve())
  })
  console.log(`results ${JSON.stringify(results)}`)
  const failed = results.filter(result => result.state === 'failed').length
  if (failed > 0 || results.length === 0) throw new Error(`${failed} of ${results.length} tests in the worker failed`)
}
