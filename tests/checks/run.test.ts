import { readFileSync } from 'node:fs'
import { describe, expect, it } from 'vitest'
import { pageOf } from '../../server/checks/page.ts'
import { checks } from '../../server/checks/registry.ts'
import { check, foundIn } from '../harness/check.ts'
import { loadFixture } from '../harness/fixture.ts'
import { onBench } from '../harness/sound-bench.ts'
import { root } from '../harness/sources.ts'

const gap = '  steps { 1 to 3 cores 46x }'
const gapMarked = `${gap}\n          ^^^^^^^^^^^^^^^^ steps-gap`

describe('severities', () => {
  it('are the check’s own unless another is set', async () => {
    const [own] = await check(onBench(gapMarked))
    expect(own?.severity).toBe('error')
    const [set] = await check(onBench(gapMarked), { severities: { 'steps-gap': 'hint' } })
    expect(set?.severity).toBe('hint')
  })

  it('leave a check out that is switched off', () => check(onBench(gap), { severities: { 'steps-gap': 'off' } }))

  it('switch a check on that is off by default', async () => {
    const lines = '  steps { 1 to 4 cores 46x }\n  bands { 1 to 4 cores above 80 °C -2x }'
    await check(onBench(lines))
    const marked = `${lines}\n          ^^^^^^^^^^^^^^^^^^^^^^^^^^^^ band-unreachable`
    await check(onBench(marked), { severities: { 'band-unreachable': 'information' } })
  })

  it('set for a check count over those of a single finding', async () => {
    const fixture =
      '--- a.detent\ndetent 1\nuse "b.detent"\n--- b.detent\ndetent 1\nprofile p { vector -1x }\n        ^ missing-key\n'
    const [finding] = await check(fixture, { severities: { 'missing-key': 'error' } })
    expect(finding?.severity).toBe('error')
  })
})

describe('allow', () => {
  it('holds for the file', () => check(onBench(gap).replace('detent 1', 'detent 1\nallow steps-gap "so"')))

  it('holds for the definition that it stands in', async () => {
    await check(onBench(`${gap}\n  allow steps-gap "so"`))
    await check(
      onBench(
        `${gap}\n  allow steps-gap "so"`,
        'profile other {\n  part willow-4\n  cooler pond-loop\n  room loft\n  steps { 1 to 3 cores 46x }\n          ^^^^^^^^^^^^^^^^ steps-gap\n}',
      ),
    )
  })

  it('holds for the table that it stands in', () =>
    check(onBench('  steps { 1 to 3 cores 46x; allow steps-gap "so" }')))

  it('holds for one code alone', () =>
    check(onBench(`${gapMarked}\n  allow steps-overlap "so"\n  ^^^^^^^^^^^^^^^^^^^^^^^^ allow-unused`)))

  it('does not hold in a file that uses this one', () =>
    check(`${onBench(gapMarked)}
--- c.detent
detent 1
use "a.detent"
allow steps-gap "so"
^^^^^^^^^^^^^^^^^^^^ allow-unused
`))

  it('holds for a profile that starts from the one it stands in', () =>
    check(
      onBench(
        '  steps { 1 to 4 cores 46x }\n  allow ratio-grid "so"',
        'profile night based-on daily { steps { 1 to 4 cores 45.5x } }',
      ),
    ))

  it('holds, inside a table, as long as the table is inherited', async () => {
    const other = 'part elm-6 { cores 6; ratio 8x to 50x }\nprofile night based-on daily { part elm-6'
    const table = '  steps { 1 to 4 cores 46x; allow steps-gap "so" }'
    const only = ['steps-gap']
    await check(onBench(table, `${other} }`), { only })
    await check(onBench(table, `${other}\n  steps { 1 to 4 cores 46x }\n          ^^^^^^^^^^^^^^^^ steps-gap\n}`), {
      only,
    })
  })
})

describe('the findings of a file', () => {
  it('are sorted by place', async () => {
    const loaded = await loadFixture(
      onBench(
        '  steps { 1 to 3 cores 46x }\n  vector -1.5x\n  allow steps-rising "so"\n  bands { 1 core above 80 °C -1.5x }',
      ),
    )
    const found = foundIn(loaded)
    expect(found.length).toBeGreaterThan(3)
    expect(found.map(({ start }) => start)).toEqual(found.map(({ start }) => start).toSorted((a, b) => a - b))
  })

  it('carry the profile they are about and the page of their check', async () => {
    const [finding] = await check(onBench(gapMarked))
    expect(finding?.profile).toBe('daily')
    expect(finding?.page).toBe('grammar/reference/checks.md#steps-gap')
  })

  it('tell a mistake once that several profiles inherit', () =>
    check(
      onBench(
        gapMarked,
        'profile night based-on daily { vector -1x }\nprofile dawn based-on night { drive off }',
      ).replace('{ drive off }', '{ vector -2x }'),
    ))

  it('tell it once where figures are the same, and again where they differ', () =>
    check(
      onBench(
        `  steps { 1 to 4 cores 46x }
  voltage { core needs - 30 mV }
            ^^^^^^^^^^^^^^^^^^ voltage-short`,
        `profile same based-on daily { limits { die 90 °C } }
profile slow based-on daily { steps { 1 to 4 cores 40x } }
                      ^^^^^ voltage-short`,
      ),
      { only: ['voltage-short'] },
    ))

  it('tell it again for another part', () =>
    check(
      onBench(
        '  steps { 1 to 4 cores 46x }',
        'part elm-6 { cores 6; ratio 8x to 50x }\nprofile night based-on daily { part elm-6 }\n                       ^^^^^ steps-gap',
      ),
      { only: ['steps-gap'] },
    ))
})

describe('every check', () => {
  it.each(checks.map(one => [one.code, one] as const))(
    '%s has a whole page and a place in the reference',
    (code, one) => {
      expect(code).toMatch(/^[a-z]+(-[a-z]+)*$/)
      expect(one.title).toMatch(/^[A-Z`].*[^.]$/)
      for (const text of [one.page.what, one.page.why, one.page.remedy]) expect(text).toMatch(/^[A-Z`].{20,}\.$/s)
      expect(one.page.example.length).toBeGreaterThan(5)
      const [path = '', anchor] = pageOf(code).split('#')
      expect(anchor).toBe(code)
      expect(readFileSync(`${root}/${path}`, 'utf8')).toContain(`\n## ${code}\n`)
    },
  )

  it('has a code of its own', () => {
    expect(new Set(checks.map(({ code }) => code)).size).toBe(checks.length)
  })
})
