/**
 * The whole test run: types, lint, build, unit tests, editor tests. A step that fails does not stop the next one, so that
 * one run shows all there is to mend.
 *
 * The last line is `N passed, N failed, N skipped`. With CI=true a skipped editor test is a failure.
 */
import { spawnSync } from 'node:child_process'
import { existsSync, mkdirSync, readFileSync, rmSync } from 'node:fs'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { type Counts, readVitestCounts } from './editor/counts.ts'

const root = fileURLToPath(new URL('..', import.meta.url))
const output = join(root, 'test-output')
const unitResults = join(output, 'unit-results.json')
const editorSummary = join(output, 'editor-summary.json')
const strict = process.env.CI === 'true'

/** Runs a script of the packages or of the project and gives its exit code. */
function run(title: string, script: string, ...args: string[]): number | null {
  console.log(`\n── ${title}`)
  const start = Date.now()
  const result = spawnSync(process.execPath, [join(root, script), ...args], {
    cwd: root,
    stdio: ['ignore', 'inherit', 'inherit'],
  })
  console.log(`── ${title}: ${result.status === 0 ? 'ok' : 'FAILED'} in ${((Date.now() - start) / 1000).toFixed(1)} s`)
  return result.status
}

rmSync(output, { recursive: true, force: true, maxRetries: 3 })
mkdirSync(output, { recursive: true })

const steps = [
  run('types', 'node_modules/typescript/bin/tsc', '--noEmit', '-p', 'tsconfig.json'),
  run('lint', 'node_modules/@biomejs/biome/bin/biome', 'check', '--error-on-warnings', '.'),
  run('build', 'client/scripts/build.ts'),
]
const unitStatus = run(
  'unit tests',
  'node_modules/vitest/vitest.mjs',
  ...['run', '--config', 'tests/vitest.config.ts'],
  ...['--reporter=default', '--reporter=json', `--outputFile.json=${unitResults}`],
)
const unit = readVitestCounts('unit', unitResults, unitStatus, 0)
const editorStatus = run('editor tests', 'tests/editor/run.ts')
const editor = existsSync(editorSummary) ? (JSON.parse(readFileSync(editorSummary, 'utf8')) as Counts[]) : []

const sum = (key: 'passed' | 'failed' | 'skipped') => [unit, ...editor].reduce((total, count) => total + count[key], 0)
const brokenSteps = steps.filter(status => status !== 0).length
const brokenEditor = editorStatus !== 0 && !editor.some(count => count.failed > 0) ? 1 : 0
const skippedInEditor = editor.reduce((total, count) => total + count.skipped, 0)
const skippedFailures = strict ? skippedInEditor : 0
const failed = sum('failed') + brokenSteps + brokenEditor + skippedFailures

console.log('')
if (brokenSteps > 0) console.log(`${brokenSteps} of types, lint and build failed: each counts as one failure.`)
if (skippedInEditor > 0) {
  const reasons = [...new Set(editor.filter(count => count.skipped > 0).map(count => count.reason))].join('; ')
  const consequence = strict ? ', which counts as failures where CI=true' : ''
  console.log(`${skippedInEditor} editor tests were skipped (${reasons})${consequence}.`)
}
console.log(`${sum('passed')} passed, ${failed} failed, ${sum('skipped') - skippedFailures} skipped`)
process.exitCode = failed > 0 ? 1 : 0
