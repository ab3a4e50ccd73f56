import { describe, expect, it } from 'vitest'
import { check, checkerOf, fixed } from '../harness/check.ts'
import { onBench } from '../harness/sound-bench.ts'

const checkGap = checkerOf('steps-gap')

describe('steps-gap', () => {
  it('finds counts between two rows, at the row before', async () => {
    const [finding] = await check(
      onBench(`  steps {
    1 core 48x
    ^^^^^^^^^^ steps-gap
    4 cores 46x
  }`),
    )
    expect(finding?.message).toContain("No ratio for 2 to 3 active cores of the part's 4.")
  })

  it('lets rows pass that between them cover all, in any order', () =>
    check(onBench('  steps {\n    3 to 4 cores 46x\n    1 to 2 cores 48x\n  }')))

  it('takes the lower ratio of the two neighbours first, which is the cautious one', async () => {
    const fixture = onBench('  steps {\n    1 core 48x\n    4 cores 46x\n  }')
    expect(await fixed('steps-gap', fixture)).toContain('    1 core 48x\n    2 to 4 cores 46x\n')
    const other = await fixed('steps-gap', fixture, { title: 'Let 48x hold for 1 to 3 cores' })
    expect(other).toContain('    1 to 3 cores 48x\n    4 cores 46x\n')
  })

  it('finds counts at either end', async () => {
    await checkGap(onBench('  steps { 2 to 4 cores 46x }\n          ^^^^^^^^^^^^^^^^ steps-gap'))
    expect(await fixed('steps-gap', onBench('  steps { 2 to 3 cores 46x }'))).toContain('1 to 3 cores 46x')
    expect(await fixed('steps-gap', onBench('  steps { 1 to 3 cores 46x }'))).toContain('1 to 4 cores 46x')
  })

  it('needs the part’s cores and the steps alone', () =>
    checkGap(`detent 1
part willow { cores 4 }
profile daily {
  part willow
  steps { 1 to 3 cores 46x }
          ^^^^^^^^^^^^^^^^ steps-gap
}
`))

  it('is silent while a row does not read, and while the part is not known', async () => {
    await checkGap(onBench('  steps {\n    1 to 2 cores 48x\n    3 to 4 corse 46x\n  }'))
    await checkGap('detent 1\nprofile daily { steps { 2 cores 46x } }\n')
  })

  it('counts a row whose ratio alone does not read', () =>
    check(onBench('  steps {\n    1 to 2 cores 48x\n    3 to 4 cores 46\n                 ^^ unit-missing\n  }')))
})
