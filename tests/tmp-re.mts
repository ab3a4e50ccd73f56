import { attacks, doubts, expressionsIn, run } from './harness/expressions.ts'
import { readSources } from './harness/sources.ts'

const expressions = readSources((path: string) => /^(?:client|server|grammar)\/.*\.ts$/.test(path)).flatMap(
  expressionsIn,
)
console.log(expressions.length)
for (const one of expressions) {
  let t = Date.now()
  doubts(one)
  const d = Date.now() - t
  t = Date.now()
  if (d > 200) console.log('doubts', one.at, one.source, d)
  process.stdout.write(`\r${one.at}            `)
  const list = [...attacks(one, 3000)]
  for (const a of list) run(one, a)
  const e = Date.now() - t
  if (e > 300) console.log('\nattack', one.at, one.source, e, list.length)
}
