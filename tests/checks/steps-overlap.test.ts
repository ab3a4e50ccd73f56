import { describe, expect, it } from 'vitest'
import { check, fixed } from '../harness/check.ts'
import { onBench } from '../harness/sound-bench.ts'

const rows = (...list: string[]): string => onBench(`  steps {\n${list.map(row => `    ${row}`).join('\n')}\n  }`)

describe('steps-overlap', () => {
  it('finds a count with two ratios, at the row that does not count', async () => {
    const [finding] = await check(rows('1 to 3 cores 48x', '3 to 4 cores 46x', '^^^^^^^^^^^^^^^^ steps-overlap'))
    expect(finding?.message).toContain('Two ratios for 3 active cores: 48x in a row above, 46x in this one.')
  })

  it('lets rows pass that border on each other', () => check(rows('1 to 2 cores 48x', '3 to 4 cores 46x')))

  it.each([
    [['1 to 3 cores 48x', '3 to 4 cores 46x'], '4 cores 46x'],
    [['3 to 4 cores 46x', '1 to 3 cores 48x'], '1 to 2 cores 48x'],
  ])('leaves the counts to the row above: %o', async (list, mended) => {
    expect(await fixed('steps-overlap', rows(...list))).toContain(`    ${mended}\n`)
  })

  it('removes a row that is covered as a whole', async () => {
    expect(await fixed('steps-overlap', rows('1 to 4 cores 46x', '2 cores 44x'))).toContain(
      'steps {\n    1 to 4 cores 46x\n  }',
    )
  })

  it('has no fix where a row would have to be cut in two', async () => {
    const [finding] = await check(rows('2 cores 46x', '1 to 4 cores 46x', '^^^^^^^^^^^^^^^^ steps-overlap'))
    expect(finding?.fixes).toBeUndefined()
  })
})
