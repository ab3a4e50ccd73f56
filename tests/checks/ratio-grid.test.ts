import { describe, expect, it } from 'vitest'
import { check, checkerOf, fixed } from '../harness/check.ts'
import { onBench } from '../harness/sound-bench.ts'

const checkGrid = checkerOf('ratio-grid')
const steps = '  steps { 1 to 4 cores 46x }'
const halves = (lines: string): string =>
  onBench(lines).replace('ratio 8x to 50x\n', 'ratio 8x to 50x\n  ratio-step 0.5x\n')

describe('ratio-grid', () => {
  it('finds a step between two of the grid', () =>
    check(onBench('  steps { 1 to 4 cores 45.7x }\n          ^^^^^^^^^^^^^^^^^^ ratio-grid')))

  it('says nothing of a value that is not readable yet', async () => {
    await check(onBench('  steps { 1 to 4 cores 45,7x }\n                       ^^^^ syntax'))
    await check(onBench(`${steps}\n  vector -1,5x\n          ^^^ syntax`))
    await checkGrid(onBench(`${steps}\n  bands { 1 to 4 cores above 90 °C -1,5x }`))
  })

  it('goes by the part’s own step', async () => {
    await checkGrid(halves('  steps { 1 to 4 cores 45.5x }'))
    await checkGrid(halves('  steps { 1 to 4 cores 45.7x }\n          ^^^^^^^^^^^^^^^^^^ ratio-grid'))
  })

  it('is not misled by decimals that binary cannot hold', () =>
    checkGrid(
      onBench('  steps { 1 to 4 cores 45.3x }').replace('ratio 8x to 50x\n', 'ratio 8x to 50x\n  ratio-step 0.1x\n'),
    ))

  it.each([
    ['45.7x', '46x'],
    ['45.2x', '45x'],
    ['45.5x', '45x'],
  ])('takes for %s the nearest, the slower of two: %s', async (written, nearest) => {
    expect(await fixed('ratio-grid', onBench(`  steps { 1 to 4 cores ${written} }`))).toContain(
      `1 to 4 cores ${nearest} }`,
    )
  })

  it.each([
    ['-1.5x', '-2x'],
    ['-1.2x', '-1x'],
    ['-0.2x', '-1x'],
  ])('takes for a vector line of %s the nearest, the slower of two: %s', async (written, nearest) => {
    await check(onBench(`${steps}\n  vector ${written}\n  ^^^^^^^^^^^^ ratio-grid`))
    expect(await fixed('ratio-grid', onBench(`${steps}\n  vector ${written}`))).toContain(`vector ${nearest}\n`)
  })

  it('finds a band off the grid', async () => {
    const lines = `${steps}\n  bands { 1 to 4 cores above 80 °C -1.4x }`
    await check(onBench(`${lines}\n          ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ ratio-grid`))
    expect(await fixed('ratio-grid', onBench(lines))).toContain('above 80 °C -1x }')
  })

  it('leaves a ratio outside the range to the finding of that', () =>
    checkGrid(onBench('  steps { 1 to 4 cores 51.5x }')))
})
