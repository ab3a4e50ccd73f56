import { describe, expect, it } from 'vitest'
import { check, checkerOf, fixed } from '../harness/check.ts'
import { onBench } from '../harness/sound-bench.ts'
import { soundSteps, twoGroups } from '../harness/two-groups.ts'

const severities = { 'band-unreachable': 'information' } as const
const checkReach = checkerOf('band-unreachable', severities)
const band = (row: string, more = ''): string =>
  onBench(`  steps { 1 to 4 cores 46x }\n  bands${more} {\n    ${row}\n  }`)

describe('band-unreachable', () => {
  it('is off unless switched on', () => check(band('1 to 4 cores above 80 °C -2x')))

  it('finds a band that no load reaches', async () => {
    const [finding] = await checkReach(
      band('1 to 4 cores above 45 °C -2x\n    ^^^^^^^^^^^^^^^^^^^^^^^^^^^^ band-unreachable'),
    )
    expect(finding?.message).toMatch(/the hottest settles at 40\.\d °C/)
  })

  it('lets a band pass that alternates, and one that holds', async () => {
    await checkReach(band('1 to 4 cores above 39 °C -8x'))
    await checkReach(band('1 to 4 cores above 25 °C -1x'))
  })

  it('lets a band pass that holds within its return', () =>
    checkReach(band('1 to 4 cores above 39 °C -2x', ' return 5 K')))

  it('is silent about counts that no load has', () =>
    checkReach(band('1 to 3 cores above 80 °C -2x\n    4 cores above 20 °C -2x')))

  it('finds a band above the die limit, whatever the loads', async () => {
    const [finding] = await checkReach(
      band(
        '1 to 3 cores above 96 °C -2x\n    ^^^^^^^^^^^^^^^^^^^^^^^^^^^^ band-unreachable\n    4 cores above 20 °C -2x',
      ),
    )
    expect(finding?.message).toContain('the die limit gives ratio back at 95 °C')
  })

  it('removes it', async () => {
    const text = await fixed(
      'band-unreachable',
      band('1 to 4 cores above 39 °C -8x\n    1 to 4 cores above 80 °C -9x'),
      {
        severities,
      },
    )
    expect(text).not.toContain('80 °C')
  })

  it('judges the rows of a group of cores by its own counts', async () => {
    const grouped = (bands: string): string => `--- a.detent\n${twoGroups(`${soundSteps}\n  ${bands}`)}`
    const marks = '^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ band-unreachable'
    // `whole` settles at 59.4 °C with 10 small cores, which are 14 with the broad ones.
    const [finding] = await checkReach(grouped(`bands small {\n    5 to 10 cores above 70 °C -2x\n    ${marks}\n  }`))
    expect(finding).toMatchObject({ group: 'small' })
    expect(finding?.message).toMatch(/^Band not reached: no load with these core counts of small gets to 70 °C/)
    await checkReach(grouped('bands small { 5 to 10 cores above 50 °C -1x }'))
    await checkReach(grouped('bands small { 1 to 9 cores above 70 °C -2x }'))
    // A row for every group is not reached where none of them reaches it.
    await checkReach(grouped('bands { 10 cores above 50 °C -1x }'))
    const [all] = await checkReach(grouped(`bands {\n    1 to 10 cores above 70 °C -2x\n    ${marks}\n  }`))
    expect(all?.group).toBeUndefined()
    expect(all?.message).toContain('no load with these core counts gets to 70 °C')
  })

  it('counts a band of a group that holds within its return as reached', () =>
    checkReach(
      `--- a.detent\n${twoGroups(`${soundSteps}\n  bands small return 12 K { 1 to 10 cores above 58 °C -12x }`)}`,
    ))
})
