import { describe, expect, it } from 'vitest'
import { evidenceJson, evidenceText } from '../../../server/cli/output/evidence-output.ts'
import { createService, ledgerEdits, partLedgers } from '../../../server/service.ts'
import { findingsOf } from '../../checks/demo.ts'
import { memoryFiles } from '../../harness/file-systems.ts'
import { twoGroups } from '../../harness/two-groups.ts'

const uri = 'file:///bench/a.detent'
/** Each group at its last row of `needs`, on one rail. */
const steps = (expectations = ''): string =>
  `  steps broad { 1 to 4 cores 53x }\n  steps small { 1 to 10 cores 40x }\n${expectations}`
const loads =
  'load wide { cores broad 4; activity 0.5 }\nload dense { cores small 10; activity 0.5 }\nload both { cores broad 4; cores small 10; activity 0.3 }\n'
const bench = (runs: string, expectations = ''): string => `${twoGroups(steps(expectations), loads)}${runs}`
const run = (name: string, load: string, figures: string, end: string): string =>
  `run ${name} of day under ${load} {\n  air 25 °C\n  measured { ${figures}; die 60 °C }\n  ${end}\n}\n`

async function loaded(text: string) {
  const service = createService(memoryFiles({ [uri]: text }))
  await service.workspace.load([uri])
  const part = service.workspace.view(uri)?.scope.find('part', 'otter-r3')
  if (part === undefined) throw new Error('the bench has the part')
  const [evaluation] = service.evaluations(uri)
  return { service, part, evidence: service.bench.evidence(part), evaluation: evaluation! }
}

describe('trials of a part with groups', () => {
  it('are of the group that was at work', async () => {
    const { evidence } = await loaded(
      bench(
        run('one', 'wide', 'clock 5.3 GHz; voltage 1.30 V', 'held 1 h') +
          run('two', 'dense', 'clock 4.0 GHz; voltage 1.20 V', 'held 20 min'),
      ),
    )
    const tried = [...(evidence?.groups ?? [])].map(([name, own]) => [
      name,
      own.trials.map(one => [one.run, one.ratio]),
    ])
    expect(tried).toEqual([
      ['broad', [['one', 53]]],
      ['small', [['two', 40]]],
    ])
    expect(evidence?.ofGroup('small')?.ledger.at(40)).toMatchObject({ statedV: 1.195, heldS: 1200 })
    expect(evidence?.ofGroup('broad')?.ledger.at(53)).toMatchObject({ statedV: 1.31, heldS: 3600 })
  })

  it('that held with both at work are one of each; a row of `known` is of the group it names', async () => {
    const both = run('one', 'both', 'clock 5.3 GHz; clock small 3.9 GHz; voltage 1.31 V', 'held 1 h')
    const known = bench(both).replace('  reference', '  known { 3.3 GHz 1.00 V cores small 2 }\n  reference')
    const { evidence } = await loaded(known)
    expect(evidence?.ofGroup('broad')?.trials.map(({ ratio }) => ratio)).toEqual([53])
    expect(evidence?.ofGroup('small')?.trials.map(({ ratio }) => ratio)).toEqual([33, 39])
  })

  it('that stopped are of the group with least to spare, or of none where that is not plain', async () => {
    const stopped = async (figures: string) =>
      (await loaded(bench(run('one', 'both', figures, 'stopped after 5 min "hang"')))).evidence
    // 1.31 V is stated for the broad cores at 53x, 0.99 V for the small ones at 33x.
    const plain = await stopped('clock 5.3 GHz; clock small 3.3 GHz; voltage 1.31 V')
    expect([...(plain?.groups?.keys() ?? [])]).toEqual(['broad'])
    const other = await stopped('clock 4.6 GHz; clock small 4.0 GHz; voltage 1.19 V')
    expect([...(other?.groups?.keys() ?? [])]).toEqual(['small'])
    // 49.5x and 40x take about the same: it may have been either.
    expect(await stopped('clock 4.95 GHz; clock small 4.0 GHz; voltage 1.19 V')).toBeUndefined()
    const beside = run('two', 'wide', 'clock 5.3 GHz; voltage 1.30 V', 'held 1 h')
    const { evidence } = await loaded(
      bench(
        run('one', 'both', 'clock 4.95 GHz; clock small 4.0 GHz; voltage 1.19 V', 'stopped after 5 min "hang"') +
          beside,
      ),
    )
    expect(evidence?.leftOut).toMatchObject([{ run: 'one', why: expect.stringContaining('run one group alone') }])
  })

  it('decide how stable a load is, all its groups together', async () => {
    const asked = '  expect wide stable >= 50 % for 1 h\n  expect both stable >= 20 % for 1 h\n'
    const held = (small: string): string =>
      bench(
        run('one', 'wide', 'clock 5.3 GHz; voltage 1.31 V', 'held 2 h') +
          run('two', 'dense', `clock 4.0 GHz; voltage ${small} V`, 'held 2 h'),
        asked,
      )
    const percent = async (text: string) => {
      const { service, evaluation } = await loaded(text)
      return service.expectations(evaluation).map(({ predicted, undecided }) => predicted ?? undecided)
    }
    const [wide, both] = (await percent(held('1.19'))) as number[]
    expect(both).toBeLessThan(wide ?? Number.NaN)
    // The rail gives the small cores what the broad ones need: far more than enough.
    expect(both).toBeGreaterThan((wide ?? Number.NaN) * 0.95)
    const [, untried] = await percent(bench(run('one', 'wide', 'clock 5.3 GHz; voltage 1.31 V', 'held 2 h'), asked))
    expect(untried).toContain('nothing was tried of group `small`')
  })

  it('that speak against a row of one group are found there, with a fix of that row', async () => {
    const text = bench(run('one', 'dense', 'clock 4.0 GHz; voltage 1.20 V', 'stopped after 12 min "hang"'))
    const found = await findingsOf('needs-contradicted', text)
    const [atRow, atRun] = found.map(({ finding }) => finding)
    expect(atRow?.message).toMatch(/^Need contradicted: 40x of group `small` takes more than 1\.195 V/)
    expect(atRow?.fixes?.[0]?.title).toMatch(/^Write 1\.2\d+ V ± \d\.\d+ V/)
    expect(atRun?.message).toMatch(/^This stop contradicts/)
    // What the profile holds at that voltage is undecided, what the other group does is not.
    const { service, evaluation } = await loaded(
      bench(
        run('one', 'dense', 'clock 4.0 GHz; voltage 1.20 V', 'stopped after 12 min "hang"'),
        '  expect dense holds small >= 3.9 GHz\n  expect wide holds >= 5 GHz\n',
      ),
    )
    expect(service.expectations(evaluation).map(({ holds }) => holds)).toEqual([null, true])
  })

  it('stand in the ledger by group, and are written into that group’s rows', async () => {
    const { service, part, evidence } = await loaded(
      bench(
        run('one', 'wide', 'clock 5.3 GHz; voltage 1.28 V', 'held 3 h') +
          run('two', 'dense', 'clock 4.0 GHz; voltage 1.16 V', 'held 3 h'),
      ),
    )
    const ledger = partLedgers(service.workspace, service.bench, [uri])[0]!
    const { rows } = JSON.parse(evidenceJson(ledger, []))
    expect(rows.map(({ group, ratio }: { group: string; ratio: number }) => [group, ratio])).toEqual([
      ['broad', 46],
      ['broad', 53],
      ['small', 33],
      ['small', 40],
    ])
    const io = { out: { isTTY: false }, env: {} } as unknown as Parameters<typeof evidenceText>[2]
    const text = evidenceText({ ...ledger, part, evidence }, 'a.detent:2', io)
    expect(text).toMatch(/group broad\n(?:.*\n)*? *53x (?:.*\n)*group small\n(?:.*\n)*? *40x /)
    const edits = ledgerEdits(service.workspace, ledger)
    const own = service.workspace.view(uri)?.document.source.text ?? ''
    const under = edits.map(({ start }) => own.slice(own.lastIndexOf('{', start), start).trim())
    expect(edits.length).toBeGreaterThanOrEqual(2)
    expect(under.some(piece => piece.includes('53x')) && under.some(piece => piece.includes('40x'))).toBe(true)
  })
})
