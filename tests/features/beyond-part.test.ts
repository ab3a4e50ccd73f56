import { describe, expect, it } from 'vitest'
import { beyondPart } from '../../server/features/beyond-part.ts'
import { readExpectation } from '../../server/features/overlay/index.ts'
import { createTrials } from '../../server/features/reach/trials.ts'
import { highestSet } from '../../server/features/set-voltages.ts'
import { finished } from '../../server/model/slices.ts'
import { createService } from '../../server/service.ts'
import { memoryFiles } from '../harness/file-systems.ts'
import { soundSteps, twoGroups } from '../harness/two-groups.ts'
import { benchWith } from './reach/bench.ts'

const uri = 'file:///bench/a.detent'

async function loaded(text: string) {
  const service = createService(memoryFiles({ [uri]: text }))
  await service.workspace.load([uri])
  const [evaluation] = service.evaluations(uri)
  const bench = evaluation?.input.bench
  if (evaluation === undefined || bench === undefined) throw new Error('the bench has a predicted profile')
  return { service, evaluation, bench }
}

/** How the part ends before what the one `expect` line of a text asks. */
async function endOf(text: string): Promise<string | undefined> {
  const { service, evaluation, bench } = await loaded(text)
  const [expectation] = service.expectations(evaluation)
  if (expectation === undefined) throw new Error('the profile expects something')
  return beyondPart(evaluation, bench, expectation)
}

/** `core-voltage` up to 1.25 V on the part, and up to 1.34 V in its second group. */
const apart = (settings: string): string =>
  twoGroups(`${soundSteps}\n${settings}`)
    .replace('0.65 V to 1.38 V', '0.65 V to 1.25 V')
    .replace('needs { 46x 1.090 V; 53x 1.310 V }', 'needs { 46x 1.050 V; 53x 1.210 V }')
/** The same with a line in each group and none on the part. */
const inGroupsAlone = (settings: string): string =>
  apart(settings)
    .replace('  core-voltage 0.65 V to 1.25 V\n', '')
    .replace('    ratio 8x to 56x\n', '    ratio 8x to 56x\n    core-voltage 0.65 V to 1.25 V\n')

describe('what lies beyond the part', () => {
  it('is a voltage above what each of its groups allows', async () => {
    expect(await endOf(apart('  expect whole voltage small >= 1.30 V'))).toBeUndefined()
    expect(await endOf(apart('  expect whole voltage small >= 1.35 V'))).toBe('part otter-r3 allows up to 1.340 V')
    expect(await endOf(inGroupsAlone('  expect whole voltage small >= 1.30 V'))).toBeUndefined()
    expect(await endOf(inGroupsAlone('  expect whole voltage small >= 1.35 V'))).toBe(
      'part otter-r3 allows up to 1.340 V',
    )
  })

  it('says what is set above what is allowed', async () => {
    const set = '  voltage { set small 40x 1.42 V }\n'
    expect(await endOf(apart(`${set}  expect whole voltage small >= 1.40 V`))).toBeUndefined()
    expect(await endOf(apart(`${set}  expect whole voltage small >= 1.50 V`))).toBe(
      'part otter-r3 allows up to 1.340 V and is set to 1.420 V',
    )
  })

  it('is not what `vector` alone gives back', async () => {
    const vector = { loads: 'load wide { cores 2; activity 0.8; vector yes }', more: 'vector -3x' }
    expect(await endOf(benchWith(vector, 'wide holds >= 4.9 GHz'))).toBeUndefined()
    expect(await endOf(benchWith(vector, 'wide holds >= 5.1 GHz'))).toBe('part p9 goes up to 50x: 5.00 GHz')
  })
})

describe('the highest set voltage', () => {
  it('of each group stands beside the least that its rail allows', async () => {
    const { evaluation } = await loaded(
      inGroupsAlone('  voltage { core small needs + 10 mV; core broad needs + 20 mV }'),
    )
    const [broad, small] = highestSet(evaluation)
    expect(broad).toEqual({ group: 'broad', setV: expect.closeTo(1.23, 9), allowedV: 1.25 })
    expect(small).toEqual({ group: 'small', setV: expect.closeTo(1.205, 9), allowedV: 1.25 })
  })

  it('is not raised above what is allowed, wherever that is stated', async () => {
    for (const text of [apart, inGroupsAlone]) {
      const fixture = text('  voltage { core small needs + 10 mV }')
      const { service } = await loaded(fixture)
      const facts = { evidence: () => undefined, severities: {} }
      const question = readExpectation('whole voltage small >= 1.25 V').sourced
      const trials = finished(createTrials(service.workspace, uri, 'day', question, facts))
      const raised = (to: string) => {
        const start = fixture.indexOf('+ 10 mV')
        return trials && finished(trials.verified([{ uri, edits: [{ start, end: start + 7, text: to }] }]))
      }
      expect(raised('+ 60 mV')).toEqual({ refused: 'voltage' })
      expect(raised('+ 20 mV')).not.toEqual({ refused: 'voltage' })
    }
  })
})
