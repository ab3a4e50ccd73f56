import { describe, expect, it } from 'vitest'
import { check, checkerOf, fixed } from '../harness/check.ts'
import { onBench } from '../harness/sound-bench.ts'
import { soundSteps, twoGroups } from '../harness/two-groups.ts'

const checkLoads = checkerOf('load-beyond-part')
const steps = '  steps { 1 to 4 cores 46x }'
const marked = (load: string): string => {
  const fixture = onBench(steps, load)
  return fixture.replace('  part willow-4\n', '  part willow-4\n  ^^^^^^^^^^^^^ load-beyond-part\n')
}

describe('load-beyond-part', () => {
  it('finds a load for more cores than the part has', async () => {
    const [finding] = await check(marked('load wide { cores 2 to 8 }'))
    expect(finding?.load).toBe('wide')
    expect(finding?.message).toContain('keeps up to 8 busy, the part has 4')
  })

  it('lets a load pass that ends at the last core', () => check(onBench(steps, 'load wide { cores 2 to 4 }')))

  it('lets the load end at the last core', async () => {
    expect(await fixed('load-beyond-part', onBench(steps, 'load wide { cores 2 to 8 }'))).toContain('cores 2 to 4 }')
    expect(await fixed('load-beyond-part', onBench(steps, 'load wide { cores 4 to 8 }'))).toContain('{ cores 4 }')
    expect(await fixed('load-beyond-part', onBench(steps, 'load wide { cores 6 }'))).toContain('{ cores 4 }')
  })

  it('is reported once for a chain of profiles with one part', () =>
    checkLoads(`${marked('load wide { cores 8 }\nprofile night based-on daily { vector -1x }')}`))

  it('holds the counts of a group of cores against that group', async () => {
    const bench = (loads: string): string => `--- a.detent\n${twoGroups(soundSteps, loads)}`
    const marks = '  part otter-r3\n  ^^^^^^^^^^^^^ load-beyond-part\n'
    const [finding] = await checkLoads(
      bench('load much { cores broad 0 to 9; cores small 2 }\n').replace('  part otter-r3\n', marks),
    )
    expect(finding).toMatchObject({ load: 'much', group: 'broad' })
    expect(finding?.message).toContain('keeps up to 9 of broad busy, broad has 4')
    expect(await fixed('load-beyond-part', bench('load much { cores broad 0 to 9 }\n'))).toContain('broad 0 to 4 }')
    await checkLoads(bench('load much { cores broad 0 to 4; cores small 10 }\n'))
  })
})
