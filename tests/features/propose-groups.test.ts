import { describe, expect, it } from 'vitest'
import { chancesOf } from '../../server/features/propose/chance.ts'
import { createGroupsJudges } from '../../server/features/propose/group-judge.ts'
import {
  noProposalText,
  nothingAsked,
  type ProposeOptions,
  proposeInSlices,
} from '../../server/features/propose/index.ts'
import { bandTexts } from '../../server/features/propose/words.ts'
import { finished } from '../../server/model/slices.ts'
import { planGroups } from '../../server/planning/index.ts'
import { createService } from '../../server/service.ts'
import { memoryFiles } from '../harness/file-systems.ts'
import { plannedBench } from '../harness/planned-benches.ts'
import { groupsJudgeOf, plannedGroupsText } from '../harness/planned-groups.ts'
import { railed, twoGroups } from '../harness/two-groups.ts'

const uri = 'file:///bench/a.detent'
const loads = 'load busy-broad { cores broad 4; activity 0.5 }\nload busy-small { cores small 10; activity 0.5 }\n'
const run = (load: string, figures: string, end: string): string =>
  `run night of day under ${load} {\n  air 25 °C\n  measured { ${figures}; die 60 °C }\n  ${end}\n}\n`
const voltage = '  voltage { core needs + 25 mV }\n'

/** The proposal for a bench with cores of two kinds. */
async function proposed(text: string, options: Partial<ProposeOptions> = {}) {
  const service = createService(memoryFiles({ [uri]: text }))
  await service.workspace.load([uri])
  const [evaluation] = service.evaluations(uri)
  if (evaluation === undefined) throw new Error('the bench has a profile')
  const evidence = service.bench.evidence(evaluation.profile.part)
  const all = { ...nothingAsked, bands: 1, ...options }
  const obstacle = noProposalText(evaluation, all, evidence)
  const { plan } = finished(proposeInSlices(evaluation, all, evidence, new Set()))
  if (plan.kind === 'none') throw new Error(plan.failure.words)
  const top = (group: string): number => Math.max(...plan.rows.filter(row => row.group === group).map(row => row.ratio))
  return { obstacle, plan, broad: top('broad'), small: top('small') }
}

const plain = await proposed(twoGroups(voltage, loads))

describe('a proposal for cores of two kinds', () => {
  it('leaves a ratio out that a run of that group speaks against, and no other', async () => {
    const stops = run('busy-broad', 'clock 5.3 GHz; voltage 1.34 V', 'stopped after 5 min "hang"')
    const { broad, small, plan } = await proposed(
      twoGroups(`${voltage}  steps broad { 1 to 4 cores 53x }\n  steps small { 1 to 10 cores 40x }\n`, loads) + stops,
    )
    expect(plain.broad).toBe(53)
    expect(broad).toBeLessThan(53)
    expect(small).toBe(plain.small)
    expect(plan.rows.find(({ group }) => group === 'broad')?.next).toMatchObject({ by: 'stable' })
  })

  it('gets each group the voltage that its trials ask for with --stable', async () => {
    const held = run('busy-broad', 'clock 5.3 GHz; voltage 1.30 V', 'held 1 h')
    const text =
      twoGroups(`${voltage}  steps broad { 1 to 4 cores 53x }\n  steps small { 1 to 10 cores 40x }\n`, loads) + held
    const bold = await proposed(text, { stable: { probability: 0.5, forS: 60 } })
    expect([bold.obstacle, bold.broad]).toEqual([undefined, 53])
    // Nothing was tried of the small cores: their rows alone say what they need, and 25 mV more is not enough for that.
    await expect(proposed(text, { stable: { probability: 0.999, forS: 36_000 } })).rejects.toThrow(
      /^would take 1\.\d+ V at 8x and .* to hold 10 h with 99\.9 % probability, and the die gets 1\.\d+ V$/,
    )
    const ample = text.replace('core needs + 25 mV', 'core needs + 25 mV; core small needs + 60 mV')
    const sure = await proposed(ample, { stable: { probability: 0.999, forS: 36_000 } })
    expect([sure.broad, sure.small]).toEqual([53, 40])
  })

  it('asks a case for a probability over the ± of constants', async () => {
    const refused: string[] = []
    for (const seed of [0, 1, 2, 3, 4, 5]) {
      const text = plannedGroupsText(seed).replace(/block-resistance \S+ K\/W/, '$& ± 0.08 K/W')
      const { evaluation } = await plannedBench(text)
      const bench = evaluation.input.benchForSteps
      if (bench === undefined) throw new Error('the bench lacks more than steps')
      const options = { ...nothingAsked, probability: 0.9, bands: 0 }
      expect(noProposalText(evaluation, options, undefined)).toBeUndefined()
      const chance = chancesOf(evaluation, bench, 0.9)
      const judge = createGroupsJudges({ evaluation, bench, options, evidence: undefined, allowed: new Set(), chance })(
        [],
      )
      const one = judge.cases.find(({ name, corner }) => name === 'weave' && corner === 1)
      if (one === undefined) throw new Error('the load is a case')
      const at = (index: number) => judge.groups.map(({ ratios }) => ({ ratio: ratios[index] as number, bands: [] }))
      const sound = [0, 1, 2, 3, 4, 5].filter(index => judge.judge(one, at(index)).failure === undefined)
      const failure = sound.length === 0 ? undefined : finished(judge.confirm(one, at(sound.at(-1) as number)))
      if (failure !== undefined) refused.push(failure.words)
    }
    expect(refused.length).toBeGreaterThan(0)
    for (const words of refused)
      expect(words).toMatch(/^would be sound in only \d+(\.\d)? % of draws, 90 % asked for; most often it would /)
  })

  it('has no row above what takes long to know of a case', async () => {
    const judge = groupsJudgeOf(await plannedBench(plannedGroupsText(2)))
    const free = finished(planGroups(judge, { rows: undefined, bands: 1 }))
    if (free.kind === 'none') throw new Error(free.failure.words)
    const most = Math.max(...free.rows.filter(({ group }) => group === 'broad').map(({ ratio }) => ratio)) - 1
    const refusing: typeof judge = {
      ...judge,
      *confirm(one, settings) {
        yield
        if ((settings[0]?.ratio ?? 0) <= most) return undefined
        const base = { load: one.name, cores: one.cores, airC: null, humidityPct: null, figure: 'probability' }
        return { ...base, by: 'die' as const, value: 0.5, allowed: 0.9, unit: '', words: 'would be too rarely sound' }
      },
    }
    const plan = finished(planGroups(refusing, { rows: undefined, bands: 1 }))
    if (plan.kind === 'none') throw new Error(plan.failure.words)
    const broad = plan.rows.filter(({ group }) => group === 'broad')
    for (const { ratio } of broad) expect(ratio).toBeLessThanOrEqual(most)
    expect(broad[0]?.next.words).toContain('would be too rarely sound')
  })

  it('says of each row of bands what fails where it gives less back, and where it begins later', async () => {
    const { plan } = await proposed(
      twoGroups(`${voltage}  limits { die 66 °C }\n`, loads).replace('air 25 °C', 'air 18 °C to 34 °C'),
    )
    const texts = bandTexts(plan)
    expect(texts.length).toBeGreaterThan(0)
    for (const text of texts) {
      expect(text).toMatch(/°C: -\d+x; (with -\d+x|without it)(, or only above \d+ °C,)? (\d+x would |every load is )/)
      expect(text).toMatch(/only above \d+ °C|without it/)
    }
  })
})

describe('a proposal for cores on supply rails of their own', () => {
  const onRails = (limits: string): string => railed(twoGroups(`${voltage}${limits}`, loads), 'side')

  it('lowers the group whose rail has the limit', async () => {
    const full = async (limits: string): Promise<readonly number[]> => {
      const { plan } = await proposed(onRails(limits))
      return ['broad', 'small'].map(name =>
        Math.min(...plan.rows.flatMap(row => (row.group === name ? [row.ratio] : []))),
      )
    }
    const free = await full('')
    expect(free).toEqual([53, 40])
    // What the broad ones heat leaks on the other rail as well: they give way by a little there.
    const onSide = await full('  limits { current side 20 A }\n')
    expect(onSide[0]).toBeGreaterThan(48)
    expect(onSide[1]).toBeLessThan(25)
    const onMain = await full('  limits { current main 30 A }\n')
    expect(onMain[0]).toBeLessThan(35)
    expect(onMain[1]).toBe(40)
    const { plan } = await proposed(onRails('  limits { current side 20 A }\n'))
    const most = plan.rows.filter(({ group }) => group === 'small').at(-1)
    expect(most?.next).toMatchObject({ by: 'current', allowed: 20, unit: 'A' })
  })
})
