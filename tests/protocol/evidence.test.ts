import { describe, expect, it } from 'vitest'
import { soundBench } from '../harness/sound-bench.ts'
import { testClients } from './test-clients.ts'

/** What a run in one file shows of a part reaches the files of the part and of every profile with it, as it is typed. */

const folder = 'memory://bench/'
const at = (name: string): string => `${folder}${name}.detent`
const bench = soundBench.replace('--- bench.detent\n', '')
const profile = (name: string): string => `detent 1
use "bench.detent"

profile ${name} {
  part willow-4
  cooler pond-loop
  room loft
  steps { 1 to 4 cores 46x }
  voltage { core needs + 20 mV }
  expect weave holds >= 4.5 GHz
}
`
const stop = 'run a of daily under weave { stopped after 3 min "crash" }\n'

const started = testClients()

describe('a run that stops', () => {
  it('is found at the needs, at itself and at what another profile expects, and goes with its line', async () => {
    const files = { [at('bench')]: bench, [at('daily')]: profile('daily'), [at('other')]: profile('other') }
    const client = await started({ folders: [folder], files })
    const { open, change, diagnostics } = client
    await open(at('bench'), bench)
    await open(at('other'), profile('other'))
    await open(at('daily'), profile('daily'))
    const codes = async (name: string): Promise<unknown[]> => (await diagnostics(at(name))).map(({ code }) => code)
    expect([await codes('bench'), await codes('other'), await codes('daily')]).toEqual([[], [], []])
    const end = { line: 11, character: 0 }
    await change(at('daily'), 2, [{ range: { start: end, end }, text: stop }])
    expect(await codes('daily')).toEqual(['expect-undecided', 'needs-contradicted'])
    expect((await codes('bench')).sort()).toEqual(['needs-contradicted', 'needs-untested'])
    expect(await codes('other')).toEqual(['expect-undecided'])
    await change(at('daily'), 3, [{ range: { start: end, end: { line: 12, character: 0 } }, text: '' }])
    expect([await codes('bench'), await codes('other'), await codes('daily')]).toEqual([[], [], []])
  })
})
