import { describe, expect, it } from 'vitest'
import { fixed } from '../harness/check.ts'
import { railed, soundSteps, twoGroups } from '../harness/two-groups.ts'
import { findingsOf } from './demo.ts'

const onTwoRails = (settings: string, more = ''): string =>
  railed(twoGroups(`${soundSteps}\n${settings}`, more), 'side')

async function unused(text: string): Promise<readonly string[]> {
  return (await findingsOf('key-unused-here', text)).map(({ finding }) => finding.message)
}

const none: readonly string[] = []

describe('what is said for all, where each has its own', () => {
  it.each([
    ['  vector broad -1x', '  vector small -1x', '  vector -2x', 'Every group has its own `vector`'],
    [
      '  bands broad { 1 to 4 cores above 80 °C -1x }',
      '  bands small { 1 to 10 cores above 80 °C -1x }',
      '  bands { 1 to 10 cores above 70 °C -1x }',
      'Every group has its own `bands`',
    ],
    [
      '  voltage { core broad needs + 5 mV; ',
      'core small needs + 5 mV; ',
      'core needs }',
      'Every group has its own `core`',
    ],
    [
      '  voltage { core needs + 5 mV; set broad 53x 1.33 V; ',
      'set small 40x 1.20 V; ',
      'set 30x 1.0 V }',
      'Every group has its own `set` rows, so none takes this one.',
    ],
    [
      '  limits { current main 90 A; ',
      'current side 40 A; ',
      'current 50 A }',
      'Every supply rail has its own `current`',
    ],
  ])('%s %s makes %s do nothing', async (first, second, all, message) => {
    const closed = (text: string): string => (text.includes('{') && !text.endsWith('}') ? `${text}}` : text)
    const isInline = second.endsWith('; ')
    const parts = (...lines: readonly string[]): string => (isInline ? closed(lines.join('')) : lines.join('\n'))
    expect(await unused(onTwoRails(parts(first, second)))).toEqual(none)
    expect(await unused(onTwoRails(parts(first, all)))).toEqual(none)
    expect(await unused(onTwoRails(parts(first, second, all)))).toEqual([expect.stringContaining(message)])
  })

  it('counts what a profile starts from: `steps` does not replace `steps broad`', async () => {
    const text = `${onTwoRails('')}profile night based-on day { steps { 1 to 10 cores 36x } }\n`
    expect(await unused(text)).toEqual([expect.stringContaining('Every group has its own `steps`')])
  })

  it('of a board is taken by each part in sight that has a rail without its own', async () => {
    const board = (lines: string): string => `board bench-top { ${lines} }\n`
    const both = 'load-line 0.3 mΩ; load-line main 0.2 mΩ; load-line side 0.4 mΩ'
    expect(await unused(onTwoRails('', board(both)))).toEqual([
      expect.stringContaining('Every supply rail has its own `load-line`'),
    ])
    expect(await unused(onTwoRails('', board('load-line 0.3 mΩ; load-line side 0.4 mΩ')))).toEqual(none)
    const other = 'part plain { cores 4 }\n'
    expect(await unused(onTwoRails('', `${other}${board(both)}`))).toEqual(none)
    const steps = 'core-voltage-step 5 mV; core-voltage-step main 5 mV; core-voltage-step side 10 mV'
    expect(await unused(onTwoRails('', board(steps)))).toEqual([
      expect.stringContaining('Every supply rail has its own `core-voltage-step`'),
    ])
  })

  it('of a load is taken by the groups that it keeps busy', async () => {
    const load = (lines: string): string => `load quick { ${lines} }\n`
    expect(await unused(onTwoRails('', load('cores small 2; activity 0.9; activity small 0.4')))).toEqual([
      expect.stringContaining('Every busy group has its own `activity`'),
    ])
    expect(await unused(onTwoRails('', load('cores 3; activity 0.9; activity small 0.4')))).toEqual(none)
  })
})

describe('a field of the menu', () => {
  const menu = (lines: string): string => `board bench-top { menu { ${lines} } }\n`

  it('with a name that its setting is not entered by is on no sheet', async () => {
    expect(
      await unused(onTwoRails('', menu('steps small "A" "B"; core-voltage side "A" "C"; current side "A" "D"'))),
    ).toEqual(none)
    const messages = await unused(onTwoRails('', menu('die small "A" "B"; current small "A" "C"; steps side "A" "D"')))
    expect(messages).toEqual([
      expect.stringContaining(
        '`die` is entered once for the whole part, so this named field is never shown. Remove the name.',
      ),
      expect.stringContaining(
        '`current` is entered for each supply rail, so a field named after a group is never shown.',
      ),
      expect.stringContaining(
        '`steps` is entered for each group of cores, so a field named after a supply rail is never shown.',
      ),
    ])
  })

  it('for all is taken where a group has none of its own', async () => {
    const each = 'steps broad "A" "B"; steps small "A" "C"; steps "A" "D"'
    expect(await unused(onTwoRails('', menu(each)))).toEqual([
      expect.stringContaining('Every group has its own `steps`'),
    ])
    expect(await unused(onTwoRails('', menu('steps broad "A" "B"; steps "A" "D"')))).toEqual(none)
    const volts = 'core-voltage broad "A" "B"; core-voltage side "A" "C"; core-voltage "A" "D"'
    expect(await unused(onTwoRails('', menu(volts)))).toEqual([
      expect.stringContaining('Every group has its own `core-voltage`'),
    ])
  })
})

describe('`set` rows beside a fixed voltage', () => {
  it('are looked at group by group', async () => {
    const mixed = '  voltage { core fixed 1.31 V; core broad needs + 20 mV; set 53x 1.330 V; set small 40x 1.2 V }'
    expect(await unused(onTwoRails(mixed))).toEqual([
      expect.stringContaining('The core voltage of small is one fixed value for all ratios'),
    ])
    // The broad ones take the row for all.
    expect(await unused(onTwoRails('  voltage { core broad needs; core small fixed 1.2 V; set 53x 1.330 V }'))).toEqual(
      none,
    )
  })

  it('name every group that takes the row', async () => {
    expect(await unused(onTwoRails('  voltage { core fixed 1.31 V; set 53x 1.330 V }'))).toEqual([
      expect.stringContaining('The core voltage of broad and small is one fixed value for all ratios'),
    ])
  })

  it('are removed', async () => {
    const text = onTwoRails('  voltage { core broad needs; core small fixed 1.2 V; set small 40x 1.2 V }')
    expect(await fixed('key-unused-here', `--- a.detent\n${text}`)).toContain(
      'voltage { core broad needs; core small fixed 1.2 V }',
    )
  })
})
