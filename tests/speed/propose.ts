/** What it takes to find the steps and bands of profiles: `node tests/speed/propose.ts`. */

import { readdirSync } from 'node:fs'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { createService, noProposalText, nothingAsked, proposeInSlices, type Service } from '../../server/service.ts'
import { nodeFiles, uriOfPath } from '../../server/workspace/node-files.ts'

const folder = fileURLToPath(new URL('../../grammar/examples/bench', import.meta.url))

/** Eight and sixteen cores on one rail, four loads, power and heat that make groups compete. */
const twoKinds = `detent 1

part heron-k6 {
  group broad {
    cores 8
    ratio 8x to 58x
    needs { 40x 0.960 V; 48x 1.100 V; 56x 1.330 V }
    switching 2.3 nF
    core-resistance 0.46 K/W
  }
  group small {
    cores 16
    ratio 8x to 44x
    needs { 30x 0.900 V; 38x 1.060 V; 43x 1.210 V }
    switching 0.78 nF
    core-resistance 0.88 K/W
  }
  reference 100 MHz
  core-voltage 0.65 V to 1.42 V
  die-limit 98 °C
  leakage 20 W at 1.15 V 60 °C
  shared-power 15 W
  idle-power 9 W
  package-resistance 0.08 K/W
}
cooler ring kind loop {
  radiator { 40 % 0.055 K/W; 100 % 0.034 K/W }
  block-resistance 0.040 K/W
}
room attic { air 19 °C to 28 °C; humidity 45 % }
load all { cores broad 8; cores small 16; activity 1.0 }
load play { cores broad 4 to 6; cores small 2; activity 0.8 }
load pack { cores broad 8; cores small 8 to 12; activity 0.9 }
load serve { cores small 4 to 16; activity 0.6 }

profile day {
  part heron-k6
  cooler ring
  room attic
  voltage { core needs + 20 mV }
  limits { sustained-power 230 W over 60 s; die 90 °C }
  expect play holds >= 4.5 GHz
}
`

const goals = { example: 2, twoKinds: 10 }

function measure(service: Service, uri: string, name: string, wantedS: number, say: (line?: string) => void): void {
  const evaluation = service.evaluations(uri).find(({ profile }) => profile.definition.name === name)
  if (evaluation === undefined || noProposalText(evaluation, nothingAsked, undefined) !== undefined) return
  const start = process.cpuUsage()
  let longest = 0
  let since = performance.now()
  const slices = proposeInSlices(evaluation, nothingAsked, undefined, new Set())
  let step = slices.next()
  for (; step.done !== true; step = slices.next()) {
    longest = Math.max(longest, performance.now() - since)
    since = performance.now()
  }
  const { user, system } = process.cpuUsage(start)
  const seconds = (user + system) / 1e6
  const { plan } = step.value
  const rows = plan.kind === 'plan' ? `${plan.rows.length} rows of steps` : 'no plan'
  say(
    `  ${name.padEnd(24)} ${`${seconds.toFixed(2)} s`.padStart(10)}  goal ${wantedS} s: ${seconds <= wantedS ? 'met' : 'not met'}; ${rows}, longest slice ${longest.toFixed(0)} ms`,
  )
}

/** Measures each profile once, the first of them cold; the processor's time, so that others on the machine count less. */
export async function measurePropose(say: (line?: string) => void): Promise<void> {
  const uris = readdirSync(folder)
    .filter(name => name.endsWith('.detent'))
    .map(name => uriOfPath(join(folder, name)))
  const service = createService(nodeFiles)
  await service.workspace.load(uris)
  say()
  say('Steps and bands proposed: the time of the processor and the longest slice')
  for (const uri of uris) {
    for (const { kind, name } of service.workspace.document(uri)?.definitions ?? [])
      if (kind === 'profile') measure(service, uri, name, goals.example, say)
  }
  const own = createService({ ...nodeFiles, read: async () => new TextEncoder().encode(twoKinds) })
  const uri = 'file:///bench/two-kinds.detent'
  await own.workspace.load([uri])
  measure(own, uri, 'day', goals.twoKinds, say)
}

if (process.argv[1] === fileURLToPath(import.meta.url))
  await measurePropose(line => process.stdout.write(`${line ?? ''}\n`))
