/**
 * Proofs at any count, which take too long for a test run; what asserts is in the tests, on samples.
 *
 *   npm run trials -- fit [SCENARIO] [COUNT] [FROM]   intervals of fits: points, logs, spikes, strong-autocorrelation, drift, alternation
 *   npm run trials -- settled [COUNT]                 what short logs settle at
 *   npm run trials -- next [COUNT]                    hours at the bench until voltages are known
 *
 * Benches of a fit are kept in test-output/trials, so a run that is ended goes on where it was, and several may run at once
 * from different seeds: the table is of all that there are.
 */
import { spawnSync } from 'node:child_process'
import { appendFileSync, existsSync, mkdirSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { proveNext } from './bench/evidence/proof.ts'
import { type BenchFit, benchFit, coverageOf, type Scenario, scenarios } from './harness/fit-coverage.ts'

const root = join(import.meta.dirname, '..')
const folder = join(root, 'test-output', 'trials')

const say = (line: string): void => {
  process.stdout.write(`${line}\n`)
}

interface Kept {
  readonly seed: number
  /** Null where the bench boils over. */
  readonly fit: BenchFit | null
}

function keptIn(path: string): readonly Kept[] {
  if (!existsSync(path)) return []
  const lines = readFileSync(path, 'utf8').trim().split('\n')
  return lines.map(line => JSON.parse(line) as Kept)
}

/** @param from first seed */
function proveFit(asked: string, count: number, from: number): void {
  const scenario = asked.replaceAll('-', ' ') as Scenario
  if (!(scenario in scenarios)) throw new Error(`there is no ${asked}; there are ${Object.keys(scenarios).join(', ')}`)
  mkdirSync(folder, { recursive: true })
  const path = join(folder, `fit-${asked}.jsonl`)
  const known = new Set(keptIn(path).map(({ seed }) => seed))
  for (let seed = from; seed < from + count; seed++)
    if (!known.has(seed)) appendFileSync(path, `${JSON.stringify({ seed, fit: benchFit(scenario, seed) ?? null })}\n`)
  const found = coverageOf(keptIn(path).flatMap(({ fit }) => fit ?? []))
  const { benches, constants, predictions, power, die, clock, writtenPower, writtenDie, writtenClock } = found
  const { logged, warming } = found
  for (const { name, covered, bias, learned } of constants) {
    const share = (covered / benches).toFixed(3)
    say(`${name.padEnd(20)} covered ${share}  bias ${bias.toFixed(2)}  learned ${learned.toFixed(2)}`)
  }
  const all = constants.reduce((sum, { covered }) => sum + covered, 0) / benches / constants.length
  const error = Math.sqrt((0.95 * 0.05) / benches).toFixed(3)
  say(`${benches} benches: all ${all.toFixed(3)}; a coverage of 0.950 has a standard error of ${error},`)
  say(`a bias one of ${(1 / Math.sqrt(benches)).toFixed(2)} of the ±`)
  const share = (hits: number): string => (hits / predictions).toFixed(3)
  say(`${predictions} predictions: power ${share(power)}, die ${share(die)}, clock ${share(clock)};`)
  say(
    `from the written file alone: power ${share(writtenPower)}, die ${share(writtenDie)}, clock ${share(writtenClock)}`,
  )
  if (logged > 0) say(`warming of the room: ${(warming / logged).toFixed(3)}`)
}

/** The test of short logs at a count of one's own. */
function proveSettled(count: number): void {
  const vitest = join(root, 'node_modules', 'vitest', 'vitest.mjs')
  const args = [vitest, 'run', '--config', 'tests/vitest.config.ts', 'tests/bench/steady/settled.test.ts']
  spawnSync(process.execPath, args, { cwd: root, stdio: 'inherit', env: { ...process.env, LOGS: String(count) } })
}

const [which = 'next', ...rest] = process.argv.slice(2)
const numberAt = (at: number, usual: number): number => Number(rest[at] ?? usual)
if (which === 'fit') proveFit(rest[0] ?? 'points', numberAt(1, 1000), numberAt(2, 1))
else if (which === 'settled') proveSettled(numberAt(0, 300))
else if (which === 'next') proveNext(numberAt(0, 300))
else throw new Error(`there is no proof ${which}; there are fit, settled, next`)
