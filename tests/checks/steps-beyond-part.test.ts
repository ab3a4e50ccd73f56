import { describe, expect, it } from 'vitest'
import { check, fixed } from '../harness/check.ts'
import { onBench } from '../harness/sound-bench.ts'

describe('steps-beyond-part', () => {
  it('finds a row for more cores than there are', () =>
    check(onBench('  steps { 1 to 6 cores 46x }\n          ^^^^^^^^^^^^^^^^ steps-beyond-part')))

  it('lets a row pass that ends at the last core', () => check(onBench('  steps { 1 to 4 cores 46x }')))

  it('lets the row end at the last core, and removes one that is beyond as a whole', async () => {
    expect(await fixed('steps-beyond-part', onBench('  steps { 1 to 6 cores 46x }'))).toContain('{ 1 to 4 cores 46x }')
    const two = onBench('  steps { 1 to 4 cores 46x; 5 to 6 cores 44x }')
    expect(await fixed('steps-beyond-part', two)).toContain('{ 1 to 4 cores 46x }')
  })

  it('finds a band for more cores than there are', async () => {
    const lines = '  steps { 1 to 4 cores 46x }\n  bands { 1 to 6 cores above 80 °C -2x }'
    await check(onBench(`${lines}\n          ^^^^^^^^^^^^^^^^^^^^^^^^^^^^ steps-beyond-part`))
    expect(await fixed('steps-beyond-part', onBench(lines))).toContain('1 to 4 cores above 80 °C -2x')
  })
})
