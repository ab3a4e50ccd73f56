import { describe, expect, it } from 'vitest'
import { envelopeOf } from '../../server/semantic/envelope.ts'
import { createService } from '../../server/service.ts'
import { memoryFiles } from '../harness/file-systems.ts'
import { railed, twoGroups } from '../harness/two-groups.ts'

/** What a part settles at is kept from one edit to the next: after each it must be what a fresh service finds. */

const uri = 'file:///bench/a.detent'
const more = `load mix { cores broad 1 to 2; cores small 3; activity 0.9; activity small 0.4 }
load wide { cores 14; activity 1.1; vector yes }
board bench-top { core-voltage-step 5 mV; load-line 0.3 mΩ; load-line side 0.6 mΩ }
`
const start = railed(
  twoGroups(
    `  board bench-top
  steps broad {
    1 to 2 cores 53x
    3 to 4 cores 50x
  }
  steps small { 1 to 10 cores 40x }
  bands broad return 2 K {
    1 to 2 cores above 40 °C -1x
    1 to 4 cores above 62 °C -3x
  }
  bands small { 4 to 10 cores above 55 °C -2x }
  vector -1x
  voltage { core needs + 40 mV; core small fixed 1.20 V }
  limits { die 90 °C; current 160 A; sustained-power 190 W }`,
    more,
  ),
  'side',
)
const plain = start
  .replace(/ {2}group broad \{([\s\S]*?)\n {2}\}\n/, '$1\n')
  .replace(/ {2}group small \{[\s\S]*?\n {2}\}\n/, '')
  .replace(/load whole .*\n/, 'load whole { cores 4 }\n')
  .replace(/load mix .*\n/, 'load mix { cores 1 to 2; activity 0.9 }\n')
  .replace('cores 14; activity 1.1', 'cores 4; activity 1.1')
  .replace('; load-line side 0.6 mΩ', '')
  .replace(/ {2}steps small .*\n/, '')
  .replace(/ {2}bands small .*\n/, '')
  .replace('; core small fixed 1.20 V', '')
  .replaceAll('steps broad', 'steps')
  .replaceAll('bands broad', 'bands')

/** Each changes the text that the edit before it left. Some change nothing of it on a plain part. */
const edits: readonly (readonly [string, string])[] = [
  ['above 40 °C', 'above 41 °C'],
  ['3 to 4 cores 50x', '3 to 4 cores 49x'],
  ['above 41 °C', 'above 40 °C'],
  ['return 2 K', 'return 4 K'],
  ['4 to 10 cores above 55', '5 to 10 cores above 55'],
  ['1 to 2 cores 53x', '1 core 53x'],
  ['3 to 4 cores 49x', '2 to 4 cores 49x'],
  ['vector -1x', 'vector -2x'],
  ['fixed 1.20 V', 'fixed 1.22 V'],
  ['needs + 40 mV', 'needs + 35 mV'],
  ['current 160 A', 'current 90 A'],
  ['sustained-power 190 W', 'sustained-power 120 W'],
  ['sustained-power 120 W', 'sustained-power 400 W'],
  ['sustained-power 400 W', 'sustained-power 60 W'],
  ['; sustained-power 60 W', ''],
  ['current 90 A', 'current 90 A; sustained-power 121 W over 60 s'],
  ['over 60 s', 'over 90 s'],
  ['needs + 35 mV', 'needs + 40 mV'],
  ['die 90 °C', 'die 60 °C'],
  ['load-line 0.3 mΩ', 'load-line 0.4 mΩ'],
  ['switching 2.2 nF', 'switching 2.3 nF'],
  ['block-resistance 0.043', 'block-resistance 0.06'],
  ['activity 0.9', 'activity 1.3'],
  ['vector yes', 'vector no'],
  ['humidity 48 %', 'humidity 60 %'],
  ['air 25 °C', 'air 25 °C to 33 °C'],
]

type Service = ReturnType<typeof createService>

function found(service: Service): unknown {
  return service.evaluations(uri).map(evaluation => ({
    predictions: evaluation.predictions.map(({ load, corner, settled }) => ({ load: load.load, corner, settled })),
    envelope: envelopeOf(evaluation).map(({ load, corner, settled }) => ({ load, corner, settled })),
  }))
}

async function serviceOf(text: string): Promise<Service> {
  const service = createService(memoryFiles({ [uri]: text }))
  await service.workspace.load([uri])
  return service
}

describe.each([
  ['two groups', start],
  ['cores that are all alike', plain],
])('after each edit of a profile with %s', (_, first) => {
  it('all that it settles at is what it would be without the edits before', async () => {
    const service = await serviceOf(first)
    expect(service.findings(uri).filter(({ finding }) => finding.code === 'syntax')).toEqual([])
    let text = first
    let [changed, before] = [0, JSON.stringify(found(service))]
    for (const [index, [from, to]] of edits.entries()) {
      text = text.replace(from, to)
      service.workspace.set(uri, text, index + 2)
      const own = found(service)
      expect(own, `${from} to ${to}`).toEqual(found(await serviceOf(text)))
      if (JSON.stringify(own) !== before) changed++
      before = JSON.stringify(own)
    }
    // What stays below a limit changes nothing, nor what is read over time alone.
    expect(changed).toBeGreaterThan(edits.length - 9)
  })
})
