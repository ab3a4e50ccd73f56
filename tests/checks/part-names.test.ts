import { describe, expect, it } from 'vitest'
import { soundSteps, twoGroups } from '../harness/two-groups.ts'
import { findingsOf } from './demo.ts'

/** Codes and messages of one check. */
async function found(text: string, code: string): Promise<readonly string[]> {
  return (await findingsOf(code, text)).map(({ finding }) => finding.message)
}

describe('names of groups and rails', () => {
  it('that the part of a profile lacks are unknown, with the one that is meant', async () => {
    const messages = await found(twoGroups(`${soundSteps}\n  vector smal -1x`), 'unknown-name')
    expect(messages).toHaveLength(1)
    expect(messages[0]).toContain('The part `otter-r3` has no group called `smal`')
    expect(messages[0]).toContain('`small`')
  })

  it('of a load or a board are unknown only where no part in sight has them', async () => {
    const known = 'load quick { cores small 2; activity broad 0.5 }\nboard flat { load-line main 0.2 mΩ }\n'
    expect(await found(twoGroups(soundSteps, known), 'unknown-name')).toEqual([])
    const strange = 'load quick { cores tiny 2; activity 1.0 }\nboard flat { load-line side 0.2 mΩ }\n'
    const messages = await found(twoGroups(soundSteps, strange), 'unknown-name')
    expect(messages[0]).toContain('The load is left out of every prediction')
    expect(messages[1]).toContain('The line does nothing')
    // Which groups such a load keeps busy is not known, so its activity is not called unused.
    expect(await found(twoGroups(soundSteps, strange), 'key-unused-here')).toEqual([])
    expect(messages.map(one => one.slice(0, 60))).toEqual([
      expect.stringContaining('no group called `tiny`'),
      expect.stringContaining('no supply rail called `side`'),
    ])
  })

  it('given twice contradict each other, other names do not', async () => {
    const twice = twoGroups(`${soundSteps}\n  vector broad -1x\n  vector small -1x\n  vector broad -2x`)
    expect(await found(twice, 'duplicate-key')).toEqual([expect.stringContaining('`vector broad` is given twice')])
  })

  it('do not stand beside one number of cores', async () => {
    const both = 'load quick { cores 3; cores small 2; activity 1.0 }\n'
    const messages = await found(twoGroups(soundSteps, both), 'duplicate-key')
    expect(messages).toEqual([expect.stringContaining('for the load as a whole and for `small`')])
  })
})

it('an expectation that fails says how many cores of each group are at work', async () => {
  const text = twoGroups(`${soundSteps}\n  expect whole holds small >= 4.2 GHz`)
  expect(await found(text, 'expect-failed')).toEqual([
    expect.stringContaining('`whole` on 4 active cores of broad and 10 of small at 25 °C air'),
  ])
})

describe('a load of many combinations', () => {
  it('is found and not predicted', async () => {
    const wide = twoGroups(soundSteps, 'load grid { cores broad 0 to 40; cores small 0 to 100; activity 1.0 }\n')
      .replace('cores 4\n', 'cores 40\n')
      .replace('cores 10\n', 'cores 100\n')
    expect(await found(wide, 'load-beyond-part')).toEqual([expect.stringContaining('Too many points')])
  })
})

describe('what is said for every group', () => {
  it('is found where each group has its own', async () => {
    const each = `${soundSteps}\n  vector broad -1x\n  vector small -1x`
    expect(await found(twoGroups(each), 'key-unused-here')).toEqual([])
    expect(await found(twoGroups(`${each}\n  vector -2x`), 'key-unused-here')).toEqual([
      expect.stringContaining('Every group has its own `vector`'),
    ])
    const part = twoGroups(soundSteps).replace('  reference 100 MHz', '  switching 2 nF\n  reference 100 MHz')
    expect(await found(part, 'key-unused-here')).toEqual([
      expect.stringContaining('Every group has its own `switching`'),
    ])
  })
})
