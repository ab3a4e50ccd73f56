/**
 * The fuzz bench: tries all targets in turn for some minutes and prints every failure, made as small as it goes, with what
 * repeats it. Usage: npm run fuzz -- --minutes 10 --seed 7 --only sessions. Ends with 1 where something failed.
 */
import { parseArgs } from 'node:util'
import fc from 'fast-check'
import { targets } from './targets.ts'

const { values } = parseArgs({
  options: {
    minutes: { type: 'string', default: '1' },
    seed: { type: 'string', default: String(Date.now() % 1_000_000_000) },
    only: { type: 'string' },
  },
})
const minutes = Number(values.minutes)
const chosen = targets.filter(({ name }) => values.only === undefined || name === values.only)
if (!(minutes > 0) || !Number.isSafeInteger(Number(values.seed)) || chosen.length === 0) {
  console.error(`usage: npm run fuzz -- --minutes N --seed S --only ${targets.map(({ name }) => name).join('|')}`)
  process.exit(2)
}

/** Long runs of one character, which say no more than how long they are. */
const shortened = (text: string): string =>
  text.replace(/((?:\\.|.))\1{99,}/g, (run, one: string) => `<${one} ${run.length / one.length} times>`)

const end = Date.now() + minutes * 60_000
const tried = new Map<string, number>()
let failures = 0
console.log(`seed ${values.seed}, ${minutes} min`)
for (let round = 0; Date.now() < end; round++) {
  const seed = Number(values.seed) + round
  for (const { name, input, run } of chosen) {
    const left = end - Date.now()
    if (left <= 0) break
    const property = fc.asyncProperty(input, run)
    // A share of the time for each, so that a slow target leaves some to the others.
    const limit = Math.min(left, 5_000)
    const result = await fc.check(property, {
      seed,
      numRuns: 1_000_000,
      interruptAfterTimeLimit: limit,
      endOnFailure: false,
    })
    tried.set(name, (tried.get(name) ?? 0) + result.numRuns)
    if (!result.failed || result.counterexample === null) continue
    failures++
    console.log(`\n${name} failed, seed ${seed}, path ${result.counterexamplePath}`)
    console.log(shortened(JSON.stringify(result.counterexample)))
    console.log(String((result.errorInstance as Error | undefined)?.stack ?? result.errorInstance))
  }
}
console.log(`\n${[...tried].map(([name, runs]) => `${name} ${runs}`).join(', ')} inputs; ${failures} failures`)
process.exit(failures > 0 ? 1 : 0)
