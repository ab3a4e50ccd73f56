import { expect, it } from 'vitest'
import { check, fixed } from '../harness/check.ts'
import { soundSteps, twoGroups } from '../harness/two-groups.ts'

const file = (text: string): string => `--- a.detent\n${text}`

it('finds nothing in a sound profile of a part with two kinds of cores', () => check(file(twoGroups(soundSteps))))

it('looks at the steps of each group alone, and names it', async () => {
  const found = await check(
    file(
      twoGroups(`  steps broad {
    1 to 2 cores 52x
    ^^^^^^^^^^^^^^^^ steps-gap
    4 cores 53x
    ^^^^^^^^^^^ steps-rising
  }
  steps small {
    1 to 6 cores 40x
    5 to 12 cores 38.5x
    ^^^^^^^^^^^^^^^^^^^ ratio-grid, steps-beyond-part, steps-overlap
  }`),
    ),
  )
  expect(found.map(({ group }) => group)).toEqual(['broad', 'broad', 'small', 'small', 'small'])
  expect(found[0]?.message).toContain("broad: No ratio for 3 active cores of the group's 4.")
  expect(found.find(({ code }) => code === 'steps-beyond-part')?.message).toContain('the group has 10')
})

it('holds each ratio against the range of its own group', async () => {
  const [finding] = await check(
    file(
      twoGroups(`  steps broad { 1 to 4 cores 50x }
  steps small { 1 to 10 cores 44x }
                ^^^^^^^^^^^^^^^^^ needs-short, ratio-range`),
    ),
  )
  expect(finding?.message).toMatch(/^small: /)
})

it('takes a table without a name for every group that has none of its own', async () => {
  await check(file(twoGroups('  steps { 1 to 10 cores 36x }')))
  const found = await check(
    file(twoGroups('  steps { 1 to 12 cores 36x }\n          ^^^^^^^^^^^^^^^^^ steps-beyond-part')),
  )
  // Both groups say the same of it in the words of their own counts.
  expect(found[0]?.message).toMatch(/goes up to 12/)
})

it('looks at the bands of each group alone', async () => {
  const found = await check(
    file(
      twoGroups(`${soundSteps}
  bands small {
    1 to 10 cores above 70 °C -2x
    1 to 10 cores above 78 °C -1x
    ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ band-no-effect
  }
  bands broad {
  ^^^^^^^^^^^ bands-missing-cores
    2 to 4 cores above 78 °C -1x
  }`),
    ),
  )
  expect(found.map(({ group }) => group)).toEqual(['small', 'broad'])
})

it('closes the gap of one group, and leaves the other alone', async () => {
  const text = file(twoGroups('  steps broad { 1 to 3 cores 50x }\n  steps small { 1 to 10 cores 40x }'))
  expect(await fixed('steps-gap', text)).toContain(
    'steps broad { 1 to 4 cores 50x }\n  steps small { 1 to 10 cores 40x }',
  )
})

it('finds a need of a group that falls as its ratio rises', async () => {
  const text = twoGroups(soundSteps)
  const falling = text.replace('33x 0.990 V', '33x 1.250 V')
  const found = await check(
    file(falling.replace(/(needs \{ 33x.*)\n/, '$1\n                         ^^^^^^^^^^^ needs-falling\n')),
  )
  expect(found[0]?.message).toMatch(/^small: Need falls with ratio/)
})
