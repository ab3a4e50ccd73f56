import { expect, it } from 'vitest'
import { comparedSettings } from '../../server/features/compare/settings.ts'
import { profileIn, sheetFor } from '../../server/service.ts'
import { loadFixture, uriOf } from '../harness/fixture.ts'
import { soundSteps, twoGroups } from '../harness/two-groups.ts'

const uri = uriOf('a.detent')

async function sheetLines(settings: string, more = ''): Promise<readonly string[]> {
  const { service } = await loadFixture(`--- a.detent\n${twoGroups(settings, more)}`)
  const sheet = sheetFor(service.workspace, uri, 'day')
  return (sheet?.pages ?? []).flatMap(({ page, lines }) =>
    lines.map(({ field, setting, row, enter }) => [page ?? '', field ?? setting, row, enter].join(' | ')),
  )
}

const voltage = '  voltage { core needs + 20 mV; core small needs + 12 mV; set broad 53x 1.335 V }'

it('enters steps and voltages of each group, by its own counts, ratios and offsets', async () => {
  const lines = await sheetLines(`${soundSteps}\n${voltage}`)
  expect(lines).toContain(' | steps | broad 2 cores | 53x')
  expect(lines).toContain(' | steps | broad 3 cores | 50x')
  expect(lines).toContain(' | steps | small 10 cores | 40x')
  expect(lines.filter(line => line.includes('steps | '))).toHaveLength(14)
  expect(lines).toContain(' | core-voltage | broad 53x | 1.335 V')
  expect(lines).toContain(' | core-voltage | small 40x | 1.207 V')
})

it('has every value of the profile, and says of none that it is given again', async () => {
  const { service } = await loadFixture(`--- a.detent\n${twoGroups(`${soundSteps}\n${voltage}`)}`)
  const sheet = sheetFor(service.workspace, uri, 'day')
  expect(sheet?.leftOut).toEqual([])
  expect(sheet?.incomplete).toEqual([])
  const facts = (sheet?.facts ?? []).map(({ name, text }) => `${name}: ${text}`)
  expect(facts).toContain('core voltages of small: 0.700 V to 1.340 V')
  expect(facts).toContain('ratios of small: 8x to 42x in steps of 1x')
  expect(facts.filter(fact => fact.startsWith('rail main, shared by broad and small'))).toHaveLength(1)
})

it('takes the field of the menu for the group, else the one for every group', async () => {
  const board = `board bench-top {
  core-voltage-step 5 mV
  menu { steps "Clocks" "Broad cores"; steps small "Clocks" "Small cores"; core-voltage "Power" "Volts" }
}
`
  const lines = await sheetLines(`${soundSteps}\n  board bench-top`, board)
  expect(lines).toContain('Clocks | Broad cores | broad 1 core | 53x')
  expect(lines).toContain('Clocks | Small cores | small 1 core | 40x')
  expect(lines.some(line => line.startsWith('Power | Volts | small 40x'))).toBe(true)
})

const rails = `board bench-top {
  core-voltage-step 5 mV
  core-voltage-step side 20 mV
  load-line 0.2 mΩ
  load-line side 0.6 mΩ
  menu { core-voltage main "Power" "First"; core-voltage side "Power" "Second"; current side "Power" "Second, A" }
}
`
const onTwoRails = (settings: string): string =>
  twoGroups(`${soundSteps}\n${voltage}\n  board bench-top\n${settings}`, rails).replace(
    'switching 0.75 nF',
    'switching 0.75 nF\n    rail side',
  )

it('enters what is set for each supply rail by itself: its voltages on its own grid, its current', async () => {
  const { service } = await loadFixture(`--- a.detent\n${onTwoRails('  limits { current 120 A; current side 40 A }')}`)
  const sheet = sheetFor(service.workspace, uri, 'day')
  const lines = (sheet?.pages ?? []).flatMap(({ lines }) =>
    lines.map(({ field, setting, row, enter, rail }) => [field ?? setting, row, enter, rail].join(' | ')),
  )
  expect(lines).toContain('First | broad 53x | 1.335 V | main')
  // 1.207 V on steps of 20 mV.
  expect(lines).toContain('Second | small 40x | 1.200 V | side')
  expect(lines).toContain('current | main | 120 A | main')
  expect(lines).toContain('Second, A | side | 40 A | side')
  expect(sheet?.untouched).toEqual([])
  const facts = (sheet?.facts ?? []).map(({ name, text }) => `${name}: ${text}`)
  expect(facts).toContain('grid of core voltages on rail side: 20 mV')
  expect(facts).toContain('load line on rail main used in the predictions: 0.2 mΩ')
})

it('tells profiles apart by the current of one rail alone', async () => {
  const text = onTwoRails('  limits { current 120 A; current side 40 A }')
  const { service } = await loadFixture(
    `--- a.detent\n${text}profile night based-on day { limits { current side 35 A } }\n`,
  )
  const profiles = ['day', 'night'].flatMap(name => profileIn(service.workspace, uri, name) ?? [])
  const different = comparedSettings(profiles).filter(({ isSame }) => !isSame)
  expect(different.map(({ key, values }) => `${key}: ${values.join(' / ')}`)).toEqual([
    'limits current side: 40 A / 35 A',
  ])
})

it('compares what two profiles set group by group', async () => {
  const { service } = await loadFixture(
    `--- a.detent\n${twoGroups(`${soundSteps}\n${voltage}`)}profile night based-on day {
  steps small { 1 to 10 cores 38x }
  voltage { core small needs + 15 mV }
}\n`,
  )
  const profiles = ['day', 'night'].flatMap(name => profileIn(service.workspace, uri, name) ?? [])
  const different = comparedSettings(profiles).filter(({ isSame }) => !isSame)
  expect(different.map(({ key, values }) => `${key}: ${values.join(' / ')}`)).toEqual([
    'steps small 1 to 10 cores: 40x / 38x',
    'voltage core small: needs + 12 mV / needs + 15 mV',
  ])
})
