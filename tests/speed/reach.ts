/** What it takes to find what expectations of the example bench would take: `node tests/speed/reach.ts`. */

import { readdirSync } from 'node:fs'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { createService, reachSlices, readExpectation } from '../../server/service.ts'
import { nodeFiles, uriOfPath } from '../../server/workspace/node-files.ts'

const folder = fileURLToPath(new URL('../../grammar/examples/bench', import.meta.url))

/** Expectations that something alone reaches; the last profile is held to half an hour, which each answer runs through. */
const asked = [
  ['winter', 'idle plate above dew by 4 K'],
  ['light-work', 'compile power <= 140 W'],
  ['summer', 'render holds >= 4.7 GHz'],
  ['heavy-work', 'render holds >= 4.7 GHz for 30 min'],
  ['heavy-work', 'render die <= 70 °C'],
] as const

const goalS = 2

/** Measures each once, the first of them cold; the processor's time, so that others on the machine count less. */
export async function measureReach(say: (line?: string) => void): Promise<void> {
  const uris = readdirSync(folder)
    .filter(name => name.endsWith('.detent'))
    .map(name => uriOfPath(join(folder, name)))
  const service = createService(nodeFiles)
  await service.workspace.load(uris)
  say()
  say('What an expectation would take, singles, on the example bench: the time of the processor and the longest slice')
  for (const [profile, text] of asked) {
    const uri = uris.find(one =>
      service.workspace.document(one)?.definitions.some(({ kind, name }) => kind === 'profile' && name === profile),
    )
    if (uri === undefined) throw new Error(`There is no profile ${profile}.`)
    const start = process.cpuUsage()
    let longest = 0
    let since = performance.now()
    const slices = reachSlices(service, uri, profile, readExpectation(text).sourced)
    let step = slices.next()
    for (; step.done !== true; step = slices.next()) {
      longest = Math.max(longest, performance.now() - since)
      since = performance.now()
    }
    const { user, system } = process.cpuUsage(start)
    const seconds = (user + system) / 1e6
    const verdict = `goal ${goalS} s: ${seconds <= goalS ? 'met' : 'not met'}`
    const answers = `${step.value.answers.length} answers`
    say(
      `  ${`${profile}: ${text}`.padEnd(52)} ${`${seconds.toFixed(2)} s`.padStart(10)}  ${verdict}; ${answers}, longest slice ${longest.toFixed(0)} ms`,
    )
  }
}

if (process.argv[1] === fileURLToPath(import.meta.url))
  await measureReach(line => process.stdout.write(`${line ?? ''}\n`))
