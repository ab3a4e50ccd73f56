/**
 * Runs inside the editor's extension host: loads every bundled `*.spec.cjs` beside itself into mocha, prints each test's
 * name and result, and writes test-output/editor-results.json.
 *
 * To add a test that runs inside the editor, add a file `tests/editor/suite/NAME.spec.ts`:
 *
 *     import * as assert from 'node:assert/strict'
 *     import { describe, it } from 'mocha'
 *     import * as vscode from 'vscode'
 *
 *     import { diagnosticsWith, openText } from './documents.ts'
 *
 *     describe('squiggles', () => {
 *       it('name a missing unit', async () => {
 *         const editor = await openText('a.detent', 'detent 1\nroom r {\n  air 20\n}\n')
 *         await diagnosticsWith(editor.document.uri, ['unit-missing'])
 *       })
 *     })
 *
 * It is found by its name, bundled, and runs with `npm run test:editor` (`-- --grep hover` runs a part).
 */
import { mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import Mocha from 'mocha'

interface Result {
  readonly name: string
  readonly state: 'passed' | 'failed' | 'skipped'
  readonly durationMs: number
  readonly message?: string
}

/** Called by the editor. Errors: rejects when a test failed or none ran. */
export async function run(): Promise<void> {
  const options = JSON.parse(readFileSync(join(__dirname, 'options.json'), 'utf8')) as { grep?: string; output: string }
  const results: Result[] = []
  // The editor under a busy machine is not the same twice; a second try is said beside the result.
  const mocha = new Mocha({
    ui: 'bdd',
    timeout: 90_000,
    retries: 1,
    reporter: 'min',
    ...(options.grep && { grep: options.grep }),
  })
  mocha.reporter(
    class {
      constructor(runner: Mocha.Runner) {
        runner.on('pass', test => record(results, test, 'passed'))
        runner.on('pending', test => record(results, test, 'skipped'))
        runner.on('retry', (test: Mocha.Test, error: Error) =>
          console.log(`  ↻ ${test.titlePath().join(' › ')}: once more\n${error.stack ?? error.message}`),
        )
        runner.on('fail', (test, error: Error) => record(results, test, 'failed', error))
      }
    } as unknown as Mocha.ReporterConstructor,
  )
  for (const name of readdirSync(__dirname).filter(name => name.endsWith('.spec.cjs'))) {
    mocha.addFile(join(__dirname, name))
  }
  await new Promise<void>(resolve => {
    mocha.run(() => resolve())
  })
  mkdirSync(options.output, { recursive: true })
  writeFileSync(join(options.output, 'editor-results.json'), `${JSON.stringify(results, undefined, 2)}\n`)
  const failed = results.filter(result => result.state === 'failed').length
  if (failed > 0) throw new Error(`${failed} of ${results.length} tests in the editor failed`)
  if (results.length === 0) throw new Error('no test ran in the editor')
}

function record(results: Result[], test: Mocha.Test | Mocha.Hook, state: Result['state'], error?: Error): void {
  const result = {
    name: test.titlePath().join(' › '),
    state,
    durationMs: test.duration ?? 0,
    ...(error && { message: error.stack ?? error.message }),
  }
  results.push(result)
  const mark = { passed: '✓', failed: '✗', skipped: '-' }[state]
  console.log(`  ${mark} ${result.name} (${result.durationMs} ms)${error ? `\n${result.message}` : ''}`)
}
