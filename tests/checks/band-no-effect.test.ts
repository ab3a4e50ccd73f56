import { describe, expect, it } from 'vitest'
import { check, fixed } from '../harness/check.ts'
import { onBench } from '../harness/sound-bench.ts'

const bands = (...list: string[]): string =>
  onBench(`  steps { 1 to 4 cores 46x }\n  bands {\n${list.map(row => `    ${row}`).join('\n')}\n  }`)

describe('band-no-effect', () => {
  it('finds a row where a deeper one holds already', async () => {
    const [finding] = await check(
      bands(
        '1 to 4 cores above 70 °C -2x',
        '1 to 4 cores above 80 °C -1x',
        '^^^^^^^^^^^^^^^^^^^^^^^^^^^^ band-no-effect',
      ),
    )
    expect(finding?.severity).toBe('hint')
    expect(finding?.message).toContain('2x is already given back above 70 °C')
  })

  it('lets a row pass that is deeper, and one that is earlier', () =>
    check(bands('1 to 4 cores above 80 °C -2x', '1 to 4 cores above 70 °C -1x', '1 to 4 cores above 90 °C -3x')))

  it('lets a row pass that is needed for one of its counts', () =>
    check(bands('1 to 3 cores above 70 °C -2x', '1 to 4 cores above 80 °C -1x')))

  it('finds a row that several others cover together', () =>
    check(
      bands(
        '1 to 2 cores above 70 °C -2x',
        '3 to 4 cores above 60 °C -1x',
        '1 to 4 cores above 80 °C -1x',
        '^^^^^^^^^^^^^^^^^^^^^^^^^^^^ band-no-effect',
      ),
    ))

  it('finds the second of two equal rows, and a row that gives back nothing', async () => {
    const row = '1 to 4 cores above 70 °C -2x'
    await check(bands(row, row, '^^^^^^^^^^^^^^^^^^^^^^^^^^^^ band-no-effect'))
    await check(bands(row, '1 to 4 cores above 80 °C -0x', '^^^^^^^^^^^^^^^^^^^^^^^^^^^^ band-no-effect'))
  })

  it('removes it', async () => {
    const text = await fixed('band-no-effect', bands('1 to 4 cores above 70 °C -2x', '1 to 4 cores above 80 °C -1x'))
    expect(text).toContain('  bands {\n    1 to 4 cores above 70 °C -2x\n  }\n')
  })

  it('swaps what two rows give back that stand in the wrong order', async () => {
    const title = 'Swap what the two rows give back'
    const text = await fixed('band-no-effect', bands('1 to 4 cores above 70 °C -2x', '1 to 4 cores above 80 °C -1x'), {
      title,
    })
    expect(text).toContain('    1 to 4 cores above 70 °C -1x\n    1 to 4 cores above 80 °C -2x\n')
  })

  it('does not swap rows for other core counts, or equal ones', async () => {
    for (const other of ['1 to 3 cores above 80 °C -1x', '1 to 4 cores above 80 °C -2x']) {
      const text = bands('1 to 4 cores above 70 °C -2x', other, `${'^'.repeat(other.length)} band-no-effect`)
      const [finding] = await check(text)
      expect(finding?.fixes?.map(fix => fix.title)).toEqual(['Remove this row'])
    }
  })
})
