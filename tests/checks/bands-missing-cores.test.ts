import { describe, expect, it } from 'vitest'
import { check, fixed } from '../harness/check.ts'
import { onBench } from '../harness/sound-bench.ts'

const steps = '  steps { 1 to 4 cores 46x }'

describe('bands-missing-cores', () => {
  it('finds counts that no band speaks of', async () => {
    const [finding] = await check(
      onBench(`${steps}
  bands {
  ^^^^^ bands-missing-cores
    1 to 2 cores above 80 °C -2x
  }`),
    )
    expect(finding?.severity).toBe('information')
    expect(finding?.message).toContain("3 to 4 active cores of the part's 4")
  })

  it('lets a whole table pass, and a profile without bands', async () => {
    await check(onBench(`${steps}\n  bands { 1 to 2 cores above 80 °C -2x; 3 to 4 cores above 85 °C -1x }`))
    await check(onBench(steps))
  })

  it('widens all rows that end beside the gap', async () => {
    const lines = `${steps}\n  bands {\n    1 to 2 cores above 80 °C -2x\n    1 to 2 cores above 85 °C -3x\n  }`
    expect(await fixed('bands-missing-cores', onBench(lines))).toContain(
      '    1 to 4 cores above 80 °C -2x\n    1 to 4 cores above 85 °C -3x\n',
    )
  })

  it('widens the rows behind the gap', async () => {
    const lines = `${steps}\n  bands { 3 to 4 cores above 80 °C -2x }`
    expect(await fixed('bands-missing-cores', onBench(lines))).toContain('{ 1 to 4 cores above 80 °C -2x }')
  })

  it('is silent while a row does not read', () =>
    check(
      onBench(
        `${steps}\n  bands {\n    1 to 2 cores above 80 °C -2x\n    3 to corse above 80 °C -2x\n         ^^^^^ syntax\n  }`,
      ),
    ))
})
