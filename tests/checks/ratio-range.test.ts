import { describe, expect, it } from 'vitest'
import { check, checkerOf, fixed } from '../harness/check.ts'
import { onBench } from '../harness/sound-bench.ts'

const checkRange = checkerOf('ratio-range')
const steps = '  steps { 1 to 4 cores 46x }'

describe('ratio-range', () => {
  it('finds a step above and one below the range', async () => {
    const [finding] = await checkRange(onBench('  steps { 1 to 4 cores 51x }\n          ^^^^^^^^^^^^^^^^ ratio-range'))
    expect(finding?.severity).toBe('error')
    await checkRange(onBench('  steps { 1 to 4 cores 7x }\n          ^^^^^^^^^^^^^^^ ratio-range'))
  })

  it('lets both ends pass', () => checkRange(onBench('  steps { 1 to 3 cores 50x; 4 cores 8x }')))

  it('says so where a ratio is off the grid as well', async () => {
    const [finding] = await checkRange(
      onBench('  steps { 1 to 4 cores 62.5x }\n          ^^^^^^^^^^^^^^^^^^ ratio-range'),
    )
    expect(finding?.message).toContain('not a multiple of the ratio step of 1x either')
    const [whole] = await checkRange(onBench('  steps { 1 to 4 cores 62x }\n          ^^^^^^^^^^^^^^^^ ratio-range'))
    expect(whole?.message).not.toContain('multiple')
  })

  it('takes the nearest end', async () => {
    expect(await fixed('ratio-range', onBench('  steps { 1 to 4 cores 7x }'))).toContain('cores 8x }')
  })

  it('finds a vector line that leads below the range, and not one that leads to its end', async () => {
    const [finding] = await check(onBench(`${steps}\n  vector -39x\n  ^^^^^^^^^^^ ratio-range`))
    expect(finding?.severity).toBe('warning')
    expect(finding?.message).toContain('giving back 39x from the step of 46x leaves 7x')
    await check(onBench(`${steps}\n  vector -38x`))
    expect(await fixed('ratio-range', onBench(`${steps}\n  vector -39x`))).toContain('vector -38x')
  })

  it('finds a band that leads below the range, and takes the end of it', async () => {
    const band = (drop: string): string => onBench(`${steps}\n  bands { 1 to 4 cores above 80 °C ${drop} }`)
    await check(band('-39x').replace('-39x }', '-39x }\n          ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ ratio-range'))
    await check(band('-38x'))
    expect(await fixed('ratio-range', band('-40x'))).toContain('above 80 °C -38x')
  })

  it('counts the vector line as well', async () => {
    const [finding] = await checkRange(
      onBench(`${steps}
  vector -2x
  bands { 1 to 4 cores above 80 °C -37x }
          ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ ratio-range`),
    )
    expect(finding?.message).toContain(
      'giving back 37x, and 2x more under vector loads, from the step of 46x leaves 7x',
    )
  })

  it('has no fix for a band over several steps', async () => {
    const [finding] = await checkRange(
      onBench(`  steps { 1 to 2 cores 48x; 3 to 4 cores 46x }
  bands { 1 to 4 cores above 80 °C -39x }
          ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ ratio-range`),
    )
    expect(finding?.fixes).toBeUndefined()
  })
})
