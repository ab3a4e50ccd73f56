import { describe, expect, it } from 'vitest'
import { check, checkerOf } from '../harness/check.ts'
import { loadFixture } from '../harness/fixture.ts'
import { onBench } from '../harness/sound-bench.ts'
import { soundSteps, twoGroups } from '../harness/two-groups.ts'

const checkBands = checkerOf('band-alternating')
const band = (row: string, more = ''): string =>
  onBench(`  steps { 1 to 4 cores 46x }\n  bands {\n    ${row}\n  }`, more)
const marks = '^^^^^^^^^^^^^^^^^^^^^^^^^^^^ band-alternating'

describe('band-alternating', () => {
  it('finds the band at which the clock goes back and forth, and gives the mean', async () => {
    const fixture = band(`1 to 4 cores above 39 °C -8x\n    ${marks}`)
    const [finding] = await check(fixture)
    expect(finding?.severity).toBe('information')
    expect(finding?.load).toBe('weave')
    const loaded = await loadFixture(band('1 to 4 cores above 39 °C -8x'))
    const predictions = loaded.service.evaluations('file:///bench/a.detent')[0]?.predictions ?? []
    const mean = predictions.find(({ load }) => load.name === 'weave')?.settled.clockMhz ?? 0
    expect(mean).toBeGreaterThan(3800)
    expect(mean).toBeLessThan(4600)
    expect(finding?.message).toContain(`The work gets the mean, ${Number((mean / 1000).toFixed(2))} GHz`)
    expect(finding?.message).toContain('between 46x and 38x: `weave` with 4 cores at 22 °C air, die at 39.0 °C')
  })

  it('lets a band pass that is not reached, and one at which the slower ratio still heats', async () => {
    await checkBands(band('1 to 4 cores above 41 °C -8x'))
    await checkBands(band('1 to 4 cores above 30 °C -1x'))
  })

  it('has no quick fix, because nothing is wrong', async () => {
    const [finding] = await checkBands(band(`1 to 4 cores above 39 °C -8x\n    ${marks}`))
    expect(finding?.fixes).toBeUndefined()
  })

  it('is reported once for each load, with the lowest mean of its counts and corners', async () => {
    const fixture = band(`1 to 4 cores above 39 °C -8x\n    ${marks}`, 'load ebb { cores 3 to 4; activity 1.05 }')
    const warm = fixture.replace('air 22 °C', 'air 21 °C to 25 °C').replace(marks, `${marks}, band-alternating`)
    const findings = await checkBands(warm)
    expect(findings.map(({ load }) => load).sort()).toEqual(['ebb', 'weave'])
    for (const { message } of findings) expect(message).toContain('at 25 °C air')
  })

  it('is reported again where a profile comes to other figures, at `based-on`', () =>
    checkBands(
      band(
        `1 to 4 cores above 39 °C -8x\n    ${marks}`,
        `profile night based-on daily { steps { 1 to 4 cores 45x } }
                       ^^^^^ band-alternating
profile same based-on daily { note "as it is" }`,
      ),
    ))

  describe('on a part with groups of cores', () => {
    const row = '1 to 10 cores above 58 °C -12x'
    const grouped = (bands: string): string => `--- a.detent\n${twoGroups(`${soundSteps}\n  ${bands}`)}`

    it('is found in the rows of the group whose clock alternates, by its own count, with its own clock', async () => {
      const marks = '^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ band-alternating'
      const broad = 'bands broad { 1 to 4 cores above 90 °C -2x }'
      const fixture = grouped(`bands small {\n    ${row}\n    ${marks}\n  }\n  ${broad}`)
      const [finding] = await checkBands(fixture)
      const loaded = await loadFixture(grouped(`bands small { ${row} }\n  ${broad}`))
      const [evaluation] = loaded.service.evaluations('file:///bench/a.detent')
      const whole = evaluation?.predictions.find(({ load }) => load.name === 'whole')?.settled
      const mean = (whole?.groups?.[1]?.clockMhz ?? 0) / 1000
      expect(whole?.state).toBe('alternating')
      expect(finding).toMatchObject({ group: 'small', load: 'whole' })
      expect(finding?.message).toMatch(
        /^Clock of small alternates between 40x and 28x: `whole` with 4 cores of broad and 10 of small at 25 °C air, /,
      )
      expect(mean).toBeGreaterThan(2.8)
      expect(mean).toBeLessThan(4)
      expect(finding?.message).toContain(`The work gets the mean, ${Number(mean.toFixed(2))} GHz`)
    })

    it('is found for each group that a row for all of them lowers', async () => {
      const marks = '^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ band-alternating'
      const found = await checkBands(grouped(`bands {\n    ${row}\n    ${marks}, band-alternating\n  }`))
      expect(found.map(({ group }) => group)).toEqual(['broad', 'small'])
      expect(found[0]?.message).toContain('between 50x and 38x')
    })
  })
})
