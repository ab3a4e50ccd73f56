import { describe, expect, it } from 'vitest'
import { createService, nextTrials, nextWords } from '../../server/service.ts'
import { memoryFiles } from '../harness/file-systems.ts'
import { railed, twoGroups } from '../harness/two-groups.ts'

const uri = 'file:///bench/a.detent'
const steps = '  steps broad { 1 to 4 cores 50x }\n  steps small { 1 to 10 cores 40x }'
const alone = 'load wide { cores broad 4; activity 0.5 }\nload dense { cores small 10; activity 0.5 }\n'

async function next(text: string, risk = 1) {
  const service = createService(memoryFiles({ [uri]: text }))
  await service.workspace.load([uri])
  const [evaluation] = service.evaluations(uri)
  if (evaluation === undefined) throw new Error('the bench has one profile')
  const found = nextTrials(evaluation, service.bench.evidence(evaluation.profile.part), risk, new Set())
  if (found === undefined) throw new Error('the profile is predicted')
  return found
}
const run = (name: string, load: string, figures: string): string =>
  `run ${name} of day under ${load} {\n  air 25 °C\n  measured { ${figures}; die 60 °C }\n  held 40 min\n}\n`

describe('the next trial of a part with groups', () => {
  it('is of one group, under a load that keeps no other busy', async () => {
    const found = await next(twoGroups(steps, alone))
    expect(found.rows.map(({ group, ratio }) => [group, ratio])).toEqual([
      ['broad', 50],
      ['small', 40],
    ])
    expect(found.proposals).toHaveLength(3)
    // `few` fills the broad cores alone, `whole` keeps both groups busy.
    const loadsOf = { broad: ['wide', 'few'], small: ['dense'] }
    for (const { group, load } of found.proposals) expect(loadsOf[group as 'broad' | 'small']).toContain(load)
    expect(new Set(found.proposals.map(({ group }) => group))).toEqual(new Set(['broad', 'small']))
    const [first] = found.proposals
    expect(first && nextWords.trialText(first)).toMatch(/^\d+x of (?:broad|small) with /)
    expect(first?.run).toMatch(/# Enter \d+x for \d+ cores of (?:broad|small) and /)
  })

  it('rests on what was tried of each group by itself', async () => {
    const tried = ['1.24', '1.22', '1.21'].map((volts, at) =>
      run(`r-${at}`, 'wide', `clock 5.0 GHz; voltage ${volts} V`),
    )
    const before = await next(twoGroups(steps, alone))
    const after = await next(`${twoGroups(steps, alone)}${tried.join('')}`)
    const spread = (found: typeof before, group: string) =>
      found.rows.find(row => row.group === group)?.standardUncertaintyV ?? Number.NaN
    expect(spread(after, 'broad')).toBeLessThan(0.8 * spread(before, 'broad'))
    expect(spread(after, 'small')).toBeCloseTo(spread(before, 'small'), 6)
    // What was tried of the broad cores moves what is proposed for them, and nothing of the small ones.
    const of = (found: typeof before, group: string) => found.proposals.filter(one => one.group === group)
    expect(of(after, 'broad')[0]?.setV).not.toBe(of(before, 'broad')[0]?.setV)
    expect(of(after, 'small').length).toBeGreaterThan(0)
  })

  it('stays within what every group on the rail allows', async () => {
    const low = twoGroups(steps, alone).replace('0.70 V to 1.34 V', '0.70 V to 1.20 V')
    const { proposals } = await next(low)
    for (const { setV } of proposals) expect(setV).toBeLessThanOrEqual(1.2 + 1e-9)
    const apart = await next(railed(low))
    expect(Math.max(...apart.proposals.flatMap(one => (one.group === 'broad' ? [one.setV] : [])))).toBeGreaterThan(1.2)
  })

  it('says which group no load keeps busy alone', async () => {
    const found = await next(twoGroups(steps))
    expect(found.neverAlone).toEqual(['small'])
    expect(nextWords.unreachedText(found)).toMatch(/^No load keeps group small busy alone/)
  })
})
