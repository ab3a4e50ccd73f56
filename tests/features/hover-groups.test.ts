import { expect, it } from 'vitest'
import { loadFixture, uriOf } from '../harness/fixture.ts'
import { railed, soundSteps, twoGroups } from '../harness/two-groups.ts'
import { hoverIn, rows } from './hovered.ts'

const few = 'load mix { cores broad 2; cores small 3; activity 0.9; activity small 0.4 }\n'
const bench = twoGroups(
  `${soundSteps}
  bands small return 2 K { 1 to 10 cores above 70 °C -2x }
  voltage { core needs + 20 mV; core small needs + 10 mV }`,
  few,
)

const hoverAt = (mark: string): ReturnType<typeof hoverIn> => {
  const offset = bench.indexOf(mark)
  return hoverIn(`--- a.detent\n${bench.slice(0, offset)}$0${bench.slice(offset)}`)
}

it('a row of steps speaks of its own group: its clock, its voltage, the loads that keep it busy', async () => {
  const { answer, predictions } = await hoverAt('1 to 10 cores  40x')
  expect(answer).toMatch(/^\*\*1 to 10 cores of group small at 40x\*\*, profile `day`: 4\.00 GHz, set 1\.205 V/)
  const shown = rows(answer).map(([name, clock]) => `${name} ${clock}`)
  // What keeps only the broad ones busy is not of this row.
  expect(shown).toEqual(['25 °C, 48 % Clock', 'whole (10 cores) 4.00 GHz', 'mix (3 cores) 4.00 GHz'])
  const mix = predictions.find(({ load }) => load.name === 'mix')?.settled
  expect(mix?.clockMhz).toBeCloseTo(5300, 6)
  expect(mix?.groups?.[1]?.clockMhz).toBeCloseTo(4000, 6)
})

it('a load shows the clock of each group that it keeps busy', async () => {
  const { answer } = await hoverAt('mix { cores broad 2')
  expect(answer).toContain('Slowest clock **5.30 GHz / 4.00 GHz**')
  expect(rows(answer).map(([, clock]) => clock)).toContain('5.30 GHz / 4.00 GHz')
})

it('a band speaks of its own group', async () => {
  const { answer } = await hoverAt('1 to 10 cores above')
  expect(answer).toContain('**2x less from 70 °C**, 1 to 10 cores of group small')
  expect(answer).toContain('40x becomes 38x: 4.00 GHz to 3.80 GHz')
})

it('a need and the switching of a group are of that group', async () => {
  const need = await hoverAt('33x 0.990 V')
  expect(need.answer).toContain('**33x needs 0.990 V** at the die, group small of part `otter-r3`: 3.30 GHz')
  expect(rows(need.answer)[1]).toEqual(['day', '1.000 V', '10 mV'])
  expect((await hoverAt('switching 0.75')).answer).toContain('One busy core at 40x and 1.195 V')
})

it('the table of one group has the loads that keep it busy, with its clock', async () => {
  const { answer } = await hoverAt('steps small')
  expect(answer).toMatch(/^Cores of group \*\*small\*\*:/)
  expect(rows(answer).map(([name, clock]) => `${name} ${clock}`)).toEqual([
    '25 °C, 48 % Clock',
    'whole (10 cores) 4.00 GHz',
    'mix (3 cores) 4.00 GHz',
  ])
  const names = rows((await hoverAt('steps broad')).answer).map(([name]) => name)
  expect(names.slice(1)).toEqual(['whole (4 cores)', 'few (2 cores)', 'mix (2 cores)'])
  expect((await hoverAt('bands small')).answer).toMatch(/^Cores of group \*\*small\*\*:/)
})

it('a table for every group has all loads', async () => {
  const text = bench.replace(/ {2}steps broad[\s\S]*40x \}/, '  steps { 1 to 10 cores 40x }')
  const { answer } = await hoverIn(`--- a.detent\n${text.replace('steps {', '$0steps {')}`)
  expect(answer).not.toContain('Cores of group')
  expect(rows(answer).map(([name]) => name)).toContain('few (2 cores)')
})

it('the part shows its groups', async () => {
  const { answer } = await hoverAt('otter-r3 {')
  expect(rows(answer).slice(0, 3)).toEqual([
    ['Group', 'Cores', 'Fastest measured, needs', 'Rail'],
    ['broad', '4', '53x (5.30 GHz), 1.310 V', 'main'],
    ['small', '10', '40x (4.00 GHz), 1.195 V', 'main'],
  ])
})

it('figures stand behind the rows of each group', async () => {
  const { service } = await loadFixture(`--- a.detent\n${bench}`)
  const hints = service.features.hints(uriOf('a.detent')).filter(({ kind }) => kind === 'clock')
  expect(hints.map(({ key, label }) => `${key}: ${label}`)).toEqual([
    'day broad 1: 5.30 GHz',
    'day broad 3: 5.00 GHz',
    'day small 1: 4.00 GHz',
  ])
})

it('a limit on current stands beside the current of its own rail, and says whose clock it holds back', async () => {
  const onRails = railed(
    twoGroups(
      `${soundSteps}
  voltage { core needs + 20 mV }
  limits { current 60 A; current second 16 A }`,
    ),
  )
  const offset = onRails.indexOf('limits {')
  const { answer, predictions } = await hoverIn(`--- a.detent\n${onRails.slice(0, offset)}$0${onRails.slice(offset)}`)
  const [main, second] = rows(answer)
    .filter(([word]) => word?.startsWith('current'))
    .map(([word, limit]) => [word, limit])
  expect([main, second]).toEqual([
    ['current main', '60 A'],
    ['current second', '16 A'],
  ])
  const whole = predictions.find(({ load }) => load.name === 'whole')?.settled
  expect(whole?.limiter).toBe('current')
  expect(whole?.groups?.[1]?.currentA).toBeLessThanOrEqual(16)
  expect(answer).toMatch(/`current` holds back whole on .* GHz to .* GHz of broad, with /)
})
