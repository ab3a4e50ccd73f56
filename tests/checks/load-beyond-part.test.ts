import { describe, expect, it } from 'vitest'
import { check, checkerOf, fixed } from '../harness/check.ts'
import { onBench } from '../harness/sound-bench.ts'

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
})
