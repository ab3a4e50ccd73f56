import { describe, expect, it } from 'vitest'
import { railed, soundSteps, twoGroups } from '../harness/two-groups.ts'
import { hoverIn, rows } from './hovered.ts'

/** The bench with two rooms' corners, two rails and a board that tells them apart. */
const more = `load mix { cores broad 1 to 2; cores small 3; activity 0.9; activity small 0.4 }
load wide { cores broad 4; cores small 10; activity 1.0; vector yes }
board bench-top {
  core-voltage-step 5 mV
  core-voltage-step side 20 mV
  load-line 0.2 mΩ
  load-line side 0.5 mΩ
}
`
const bench = railed(
  twoGroups(
    `${soundSteps}
  board bench-top
  vector broad -1x
  vector small -2x
  voltage {
    core needs + 30 mV
    core small needs + 60 mV
    set small 38x 1.200 V
  }
  limits { current 200 A; current side 60 A }
  expect mix current small <= 40 A
  expect mix holds small >= 3.0 GHz`,
    more,
  ),
  'side',
).replace('air 25 °C', 'air 20 °C to 28 °C')

const hoverAt = (mark: string, text = bench): ReturnType<typeof hoverIn> => {
  const offset = text.indexOf(mark)
  return hoverIn(`--- a.detent\n${text.slice(0, offset)}$0${text.slice(offset)}`)
}

describe('a hover of a part with groups', () => {
  it('has each load of a group once, two mixes with one count by what goes beside it', async () => {
    const { answer } = await hoverAt('1 to 10 cores  40x')
    const warm = rows(answer)
      .map(([name]) => name)
      .slice(1, 5)
    expect(warm).toEqual([
      'whole (10 cores)',
      'mix (3 cores beside 1 of broad)',
      'mix (3 cores beside 2 of broad)',
      'wide (10 cores)',
    ])
  })

  it('says where with the counts of each group', async () => {
    const { answer } = await hoverAt('profile day')
    expect(answer).toMatch(/\(4 cores of broad and 10 of small\), at 28 °C/)
  })

  it('shows the voltages of the group that a line is for, on the grid of its own rail', async () => {
    const own = await hoverAt('core small')
    expect(own.answer).toContain('of small')
    expect(own.answer).not.toContain('of broad')
    // 1.195 V + 60 mV on steps of 20 mV.
    expect(rows(own.answer).map(([ratio, set]) => `${ratio} ${set}`)).toContain('40x (4.00 GHz) 1.260 V')
    const others = await hoverAt('core needs')
    expect(others.answer).toContain('of broad')
    expect(others.answer).not.toContain('of small')
    const all = await hoverAt('voltage {')
    expect(all.answer).toMatch(/of broad[\s\S]*of small/)
  })

  it('shows the spare voltage of that group alone', async () => {
    const { answer, predictions } = await hoverAt('core small')
    const spares = predictions.flatMap(({ settled }) =>
      (settled.notes.groups?.[1]?.voltages ?? []).map(({ voltageV, needV }) => voltageV - needV),
    )
    const least = Math.min(...spares) * 1000
    const shown = /Least spare: \*\*([\d.]+) mV\*\*/.exec(answer)?.[1]
    expect(Math.abs(Number(shown) - least)).toBeLessThan(0.5)
  })

  it('says of a line that no group takes that it does nothing', async () => {
    const each = bench.replace('core small', 'core broad needs + 20 mV\n    core small')
    expect((await hoverAt('core needs', each)).answer).toContain('No group of the part takes this line')
  })

  it('shows what `vector` leaves of the steps of the group it is for', async () => {
    const { answer } = await hoverAt('vector small')
    expect(rows(answer).map(cells => cells.slice(0, 3))).toEqual([
      ['Active', 'Clock', 'Vector loads'],
      ['1 to 10 cores of small', '4.00 GHz', '3.80 GHz'],
    ])
  })

  it('says what the load line of each rail takes off', async () => {
    const { answer, predictions } = await hoverAt('board bench-top {')
    expect(answer).toContain('grid 5 mV, load line 0.2 mΩ; rail side: grid 20 mV, load line 0.5 mΩ')
    const most = Math.max(...predictions.map(({ settled }) => settled.groups?.[1]?.currentA ?? 0))
    expect(answer).toContain(`The load line of rail side takes ${Math.round(0.5 * most)} mV off`)
    expect(answer).toContain('The load line of rail main takes')
  })

  it('says how a load keeps each group busy', async () => {
    const { answer } = await hoverAt('mix { cores')
    expect(answer).toContain('1 to 2 cores of broad at activity 0.9 and 3 cores of small at activity 0.4')
  })

  it('works power, die and current out of the constants of each group', async () => {
    const { text, predictions } = await hoverAt('mix { cores')
    const warm = predictions.find(({ load, corner }) => load.name === 'mix' && corner.airC === 28)?.settled
    expect(warm?.groups?.[0]?.cores).toBe(1)
    expect(text).toMatch(/f: broad 1 · 0\.9 · 2\.2 nF · .* \+ small 3 · 0\.4 · 0\.75 nF · /)
    expect(text).toMatch(/core of broad 0\.48 K\/W · [\d.]+ W \/ 1\./)
    const current = await hoverAt('expect mix current')
    const worst = Math.max(
      ...current.predictions.flatMap(({ load, settled }) =>
        load.name === 'mix' ? [settled.groups?.[1]?.currentA ?? 0] : [],
      ),
    )
    expect(current.text).toMatch(/current ([\d.]+) A = \(switching \+ leakage\) of small \/ die voltage/)
    expect(current.text).toContain('load line 0.5 mΩ')
    const shown = /current ([\d.]+) A = /.exec(current.text)?.[1]
    expect(Math.abs(Number(shown) - worst)).toBeLessThan(0.06)
  })

  it('settles at the clock of the group that an expectation names', async () => {
    const { text } = await hoverAt('expect mix holds small')
    expect(text).toContain('There it settles at 4.00 GHz, ')
  })

  it('of a group, and of a key of the part, is of the groups that it is for', async () => {
    const group = await hoverAt('group small')
    expect(group.answer).toContain('group **small**: 10 cores, 800 MHz to 4.20 GHz, on rail `side`')
    expect((await hoverAt('ratio 8x to 42x')).answer).toContain('Clocks of small from 800 MHz to 4.20 GHz.')
    expect((await hoverAt('reference 100')).answer).toContain(
      'Clocks of broad from 800 MHz to 5.60 GHz and of small from 800 MHz to 4.20 GHz.',
    )
    expect((await hoverAt('leakage 17')).answer).toContain('At 1.15 V: 17.0 W at 60 °C')
    const own = bench.replace('core-resistance 0.48 K/W', 'core-resistance 0.48 K/W\n    leakage 6 W at 1.15 V 60 °C')
    // What the part states is that of the other group alone, then.
    expect((await hoverAt('leakage 17', own)).answer).toContain('At 1.15 V: 17.0 W at 60 °C')
    expect((await hoverAt('leakage 6', own)).answer).toContain('At 1.15 V: 6.00 W at 60 °C')
  })
})
