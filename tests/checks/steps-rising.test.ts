import { describe, expect, it } from 'vitest'
import { check, fixed } from '../harness/check.ts'
import { onBench } from '../harness/sound-bench.ts'

const rows = (...list: string[]): string => onBench(`  steps {\n${list.map(row => `    ${row}`).join('\n')}\n  }`)

describe('steps-rising', () => {
  it('finds a higher ratio for more cores, in any order of the rows', async () => {
    await check(rows('1 to 2 cores 44x', '3 to 4 cores 46x', '^^^^^^^^^^^^^^^^ steps-rising'))
    await check(rows('3 to 4 cores 46x', '^^^^^^^^^^^^^^^^ steps-rising', '1 to 2 cores 44x'))
  })

  it('lets equal ratios pass', () => check(rows('1 to 2 cores 46x', '3 to 4 cores 46x')))

  it('lowers the later one and never raises the earlier', async () => {
    expect(await fixed('steps-rising', rows('1 to 2 cores 44x', '3 to 4 cores 46x'))).toContain('3 to 4 cores 44x')
  })

  it('measures each row against the lowest before it', () =>
    check(
      rows(
        '1 core 46x',
        '2 cores 40x',
        '3 cores 44x',
        '^^^^^^^^^^^ steps-rising',
        '4 cores 42x',
        '^^^^^^^^^^^ steps-rising',
      ),
    ))

  it('leaves rows that share a count to the finding of that', () =>
    check(rows('1 to 3 cores 44x', '3 to 4 cores 46x', '^^^^^^^^^^^^^^^^ steps-overlap')))
})
