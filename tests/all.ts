/**
 * The test run: types, lint, unused code and build one after the other, then unit and editor tests side by side. A step
 * that fails does not stop the next one, so that one run shows all there is to fix; one that hangs is ended and fails.
 *
 * The usual run has every test, and takes samples of what is tried on many random benches. With --whole (`npm run
 * test:whole`), or DETENT_WHOLE=1 in the environment, it is all benches. Which was run is said before the last line.
 *
 * The last line is `N passed, N failed, N skipped`. With CI=true a skipped editor test is a failure.
 */
import { spawn } from 'node:child_process'
import { closeSync, existsSync, mkdirSync, openSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { setPriority } from 'node:os'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { readSummary, readVitestCounts } from './editor/counts.ts'

const root = fileURLToPath(new URL('..', import.meta.url))
const output = join(root, 'test-output')
const unitResults = join(output, 'unit-results.json')
const strict = process.env.CI === 'true'
const isWhole = process.argv.includes('--whole') || process.env.DETENT_WHOLE === '1'
if (isWhole) process.env.DETENT_WHOLE = '1'

/** Far above what any step takes, so that a step that hangs says so before whoever waits for the whole run gives up. */
const limitMin = 35

const running = new Set<number>()

interface Beside {
  readonly heldIn?: string
  readonly givesWay?: boolean
}

/**
 * Runs a script of the packages or of the project and gives its exit code, or null where it was ended.
 * @param beside for one that runs beside another: a file that holds what it prints until it has ended, or that it gives way
 */
async function run(title: string, call: readonly string[], beside: Beside = {}): Promise<number | null> {
  const { heldIn } = beside
  console.log(
    `\n── ${title}${heldIn === undefined ? '' : ' (beside the next step; what they print follows at their end)'}`,
  )
  const start = Date.now()
  const held = heldIn === undefined ? undefined : openSync(heldIn, 'w')
  const [script = '', ...args] = call
  const child = spawn(process.execPath, [join(root, script), ...args], {
    cwd: root,
    stdio: ['ignore', held ?? 'inherit', held ?? 'inherit'],
    // A group of its own, so that ending the step ends what it started.
    detached: process.platform !== 'win32',
  })
  if (child.pid !== undefined) {
    running.add(child.pid)
    if (beside.givesWay === true) giveWay(child.pid)
  }
  const status = await new Promise<number | null>(done => {
    const limit = setTimeout(() => {
      console.log(`── ${title}: ended after ${limitMin} min`)
      if (child.pid !== undefined) end(child.pid)
      done(null)
    }, limitMin * 60_000)
    const over = (code: number | null) => {
      clearTimeout(limit)
      done(code)
    }
    child.once('error', () => over(null))
    // Not 'close': a program that outlives the step may hold what it prints to.
    child.once('exit', over)
  })
  if (child.pid !== undefined) running.delete(child.pid)
  if (held !== undefined) closeSync(held)
  if (heldIn !== undefined) console.log(readFileSync(heldIn, 'utf8'))
  const seconds = ((Date.now() - start) / 1000).toFixed(1)
  console.log(`── ${title}: ${status === 0 ? 'ok' : 'FAILED'} in ${seconds} s`)
  return status
}

/** Lets all others go first: the step, and on Linux its group, among which time is shared before priorities count. */
function giveWay(pid: number): void {
  try {
    setPriority(pid, 10)
    if (existsSync(`/proc/${pid}/autogroup`)) writeFileSync(`/proc/${pid}/autogroup`, '10')
  } catch {
    // It has ended, or the machine does not let us: then it takes its share.
  }
}

function end(pid: number): void {
  try {
    process.kill(process.platform === 'win32' ? pid : -pid, 'SIGKILL')
  } catch {
    // It has just ended by itself.
  }
}

for (const signal of ['SIGINT', 'SIGTERM', 'SIGHUP'] as const) {
  process.once(signal, () => {
    for (const pid of running) end(pid)
    process.exit(1)
  })
}

rmSync(output, { recursive: true, force: true, maxRetries: 3 })
mkdirSync(output, { recursive: true })

const steps = [
  await run('types', ['node_modules/typescript/bin/tsc', '--noEmit', '-p', 'tsconfig.json']),
  await run('lint', ['node_modules/@biomejs/biome/bin/biome', 'check', '--error-on-warnings', '.']),
  await run('what nobody uses', ['node_modules/knip/bin/knip.js']),
  await run('what only tests use', ['node_modules/knip/bin/knip.js', '--production']),
  await run('build', ['client/scripts/build.ts']),
]
const unitCall = [
  ...['node_modules/vitest/vitest.mjs', 'run', '--config', 'tests/vitest.config.ts'],
  ...['--reporter=default', '--reporter=json', `--outputFile.json=${unitResults}`],
]
const [besideStatus, unitStatus] = await Promise.all([
  run('editor tests', ['tests/editor/run.ts', '--built'], {
    heldIn: join(output, 'all-editor.log'),
  }),
  // The browser, which draws in software, judges what a person would see in time.
  run('unit tests', unitCall, { givesWay: true }),
])
const unit = readVitestCounts('unit', unitResults, unitStatus, 0)
const beside = readSummary(output)
const failedBeside = beside.flatMap(({ kind, failures = [] }) => failures.map(failure => ({ kind, ...failure })))
// A browser that draws in software beside all else on two cores misses what a person would wait for. What fails when it
// has the machine to itself has failed.
const editorStatus = !beside.some(({ failed }) => failed > 0)
  ? besideStatus
  : await run('editor tests that failed, once more and alone', ['tests/editor/run.ts', '--built', '--again'])
const editor = readSummary(output)

const sum = (key: 'passed' | 'failed' | 'skipped') => [unit, ...editor].reduce((total, count) => total + count[key], 0)
const brokenSteps = steps.filter(status => status !== 0).length
const brokenEditor = editorStatus !== 0 && !editor.some(count => count.failed > 0) ? 1 : 0
const skippedInEditor = editor.reduce((total, count) => total + count.skipped, 0)
const skippedFailures = strict ? skippedInEditor : 0
const failed = sum('failed') + brokenSteps + brokenEditor + skippedFailures

console.log('')
console.log(
  isWhole ? 'The whole: all random benches.' : 'Samples of random benches; npm run test:whole takes all of them.',
)
for (const { kind, name, why } of failedBeside) {
  if (!editor.some(count => count.kind === kind && count.failures?.some(failure => failure.name === name)))
    console.log(`Passed only when tried again alone: ${kind} › ${name}: ${why}`)
}
for (const { kind, failed, failures = [], reason } of [unit, ...editor]) {
  for (const { name, file, why } of failures)
    console.log(`Failed: ${kind} › ${file === undefined ? '' : `${file} › `}${name}: ${why}`)
  if (failed > failures.length) console.log(`Failed: ${kind}: ${reason ?? 'the runner names no test'}`)
}
if (brokenSteps > 0)
  console.log(`${brokenSteps} of types, lint, unused code and build failed: each counts as one failure.`)
if (skippedInEditor > 0) {
  const reasons = [...new Set(editor.filter(count => count.skipped > 0).map(count => count.reason))].join('; ')
  const consequence = strict ? ', which counts as failures where CI=true' : ''
  console.log(`${skippedInEditor} editor tests were skipped (${reasons})${consequence}.`)
}
console.log(`${sum('passed')} passed, ${failed} failed, ${sum('skipped') - skippedFailures} skipped`)
process.exitCode = failed > 0 ? 1 : 0
