import { expect, it } from 'vitest'
import { check, fixed } from '../harness/check.ts'
import { railed, soundSteps, twoGroups } from '../harness/two-groups.ts'
import { findingsOf } from './demo.ts'

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

it('holds what one group asks for against the range of every group on its rail', async () => {
  const found = await check(
    file(
      twoGroups(`${soundSteps}
  voltage {
    set broad 53x 1.350 V
    ^^^^^^^^^^^^^^^^^^^^^ voltage-range
    set broad 50x 1.250 V
    set small 40x 1.360 V
    ^^^^^^^^^^^^^^^^^^^^^ voltage-range
  }`),
    ),
    { only: ['voltage-range'] },
  )
  expect(found.map(({ group }) => group)).toEqual(['broad', 'small'])
  expect(found[0]?.message).toMatch(/^broad: Voltage 10 mV too high: 1\.350 V at 53x, small on the same rail allows/)
  expect(found[1]?.message).toMatch(/^small: Voltage 20 mV too high: 1\.360 V at 40x, the group allows/)
  const apart = railed(twoGroups(`${soundSteps}\n  voltage { set broad 53x 1.350 V }`))
  expect(apart).toContain('rail second')
  await check(file(apart), { only: ['voltage-range'] })
})

it('says which group gets less than it needs', async () => {
  const found = await check(
    file(
      twoGroups(`${soundSteps}
  voltage {
    core needs + 20 mV
    core small needs - 30 mV
    ^^^^^^^^^^^^^^^^^^^^^^^^ voltage-short
  }`),
    ),
    { only: ['voltage-short'] },
  )
  expect(found[0]?.message).toMatch(/^small: Voltage 30 mV short at 40x: /)
  expect(found[0]?.message).toMatch(/active cores? of small/)
})

it('holds a voltage against the grid of its own rail', async () => {
  const board = 'board bench-top {\n  core-voltage-step 10 mV\n  core-voltage-step second 5 mV\n}\n'
  const onRails = railed(
    twoGroups(
      `${soundSteps}
  board bench-top
  voltage {
    set broad 53x 1.335 V
    ^^^^^^^^^^^^^^^^^^^^^ voltage-grid
    set small 40x 1.205 V
  }`,
      board,
    ),
  )
  await check(file(onRails), { only: ['voltage-grid'] })
})

it('lowers the step of the group that it names, wherever other steps would not help', async () => {
  const leaky = (watts: number, steps = soundSteps): string =>
    twoGroups(steps)
      .replace('leakage 17 W at 1.15 V 60 °C', `leakage ${watts} W at 1.15 V 60 °C\n  leakage-doubling 14 K`)
      .replace('40 % 0.055 K/W; 100 % 0.034 K/W', '40 % 0.2 K/W; 100 % 0.15 K/W')
      .replace('die-limit 97', 'die-limit 130')
      .replaceAll('ratio 8x', 'ratio 30x')
  const runaways = async (text: string): Promise<readonly string[]> =>
    (await findingsOf('thermal-runaway', text)).map(({ finding }) => finding.message)
  const small = (await findingsOf('thermal-runaway', leaky(50))).find(({ finding }) =>
    finding.message.includes('on 10 active cores of small'),
  )
  expect(small?.finding.message).toContain('A step of 38x would hold.')
  expect(small?.finding.fixes?.[0]?.edits.map(({ text }) => text)).toEqual(['38x'])
  const lowered = soundSteps.replace('1 to 10 cores  40x', '1 to 10 cores  38x')
  expect((await runaways(leaky(50, lowered))).filter(one => one.includes('on 10 active cores of small'))).toEqual([])
  const [first] = await runaways(leaky(40))
  expect(first).toMatch(/active cores of broad and 10 of small/)
  expect(first).toContain('No step of broad alone settles at a safe distance: lower the other groups as well')
  // Where one row is for all of them, all were tried.
  const [all] = await runaways(leaky(70, '  steps { 1 to 10 cores 40x }'))
  expect(all).toMatch(/active cores? of broad and /)
  expect(all).toContain('No step settles at a safe distance: the cooler')
})
