import { describe, expect, it } from 'vitest'
import { simulate } from '../../server/model/transient/simulate.ts'
import { check, checkerOf, fixed } from '../harness/check.ts'
import { loadFixture } from '../harness/fixture.ts'
import { onBench } from '../harness/sound-bench.ts'
import { soundSteps, twoGroups } from '../harness/two-groups.ts'

const checkReturn = checkerOf('return-latches')
const mark = '^^^^^^^^^^^^^^^^^^^^^^^^^^^^ return-latches'

const band = (thresholdC: number, returnK: number, after = ''): string =>
  onBench(`  steps { 1 to 4 cores 46x }
  bands return ${returnK} K {
    1 to 4 cores above ${thresholdC} °C -2x
${after === '' ? '' : `    ${after}\n`}  }`)

/** Where a load rests. */
async function dieC(fixture: string, name: string): Promise<number> {
  const loaded = await loadFixture(fixture)
  const predictions = loaded.service.evaluations('file:///bench/a.detent')[0]?.predictions ?? []
  return predictions.find(({ load }) => load.name === name)?.settled.dieC ?? Number.NaN
}

/** Where `weave` rests at a ratio that nothing gives back from: a balance found without any band. */
const restC = (ratio: number): Promise<number> => dieC(onBench(`  steps { 1 to 4 cores ${ratio}x }`), 'weave')

describe('return-latches', () => {
  it('finds a band that is entered from cold and never left', async () => {
    const [fast, slow] = [await restC(46), await restC(44)]
    expect(fast).toBeGreaterThan(39)
    expect(slow).toBeLessThan(39)
    const [finding] = await checkReturn(band(39, 5, mark))
    expect(finding?.severity).toBe('warning')
    expect(finding?.message).toContain(`the die then rests at ${Number(slow.toFixed(1))} °C`)
    expect(finding?.message).toContain('not below 34 °C')
  })

  it('turns exactly where the rest leaves the return', async () => {
    const gap = 39 - (await restC(44))
    await checkReturn(band(39, Math.floor((gap - 0.001) * 1000) / 1000))
    await checkReturn(band(39, Math.ceil((gap + 0.001) * 1000) / 1000, mark))
  })

  it('finds a band that holds only after something warmer, more mildly', async () => {
    const [fast, slow] = [await restC(46), await restC(44)]
    expect(fast).toBeLessThan(42)
    const gap = 42 - slow
    const [finding] = await check(band(42, Math.ceil((gap + 0.001) * 1000) / 1000, mark))
    expect(finding?.severity).toBe('information')
    expect(finding?.message).toContain('From cold 46x holds')
    await check(band(42, Math.floor((gap - 0.001) * 1000) / 1000))
  })

  it('lets a band pass without a return, and one far above where the load rests', async () => {
    await checkReturn(band(39, 0))
    await checkReturn(band(60, 5))
  })

  it('narrows the return as far as needed and no further', async () => {
    const gap = 39 - (await restC(44))
    const text = await fixed('return-latches', band(39, 5), { brings: ['band-alternating'] })
    const narrowed = Number(/return ([0-9.]+) K/.exec(text)?.[1])
    expect(narrowed).toBeLessThan(gap)
    expect(narrowed).toBeGreaterThan(gap - 0.1 - 1e-9)
    const mild = await fixed('return-latches', band(42, 5))
    expect(Number(/return ([0-9.]+) K/.exec(mild)?.[1])).toBeLessThan(42 - (await restC(44)))
  })

  it('does not judge the ratios given back at the die limit', () =>
    checkReturn(
      onBench(`  steps { 1 to 4 cores 46x }
  bands return 5 K {
    1 to 4 cores above 60 °C -2x
  }
  limits { die 39 °C }`),
    ))

  it('tells the first band that holds; a deeper one rests cooler and is left before it', () =>
    checkReturn(
      onBench(`  steps { 1 to 4 cores 46x }
  bands return 9 K {
    1 to 4 cores above 41 °C -1x
    ${mark}
    1 to 4 cores above 42 °C -6x
  }`),
    ))

  describe('of one group of cores', () => {
    const small = 'bands small return 12 K { 1 to 10 cores above 58 °C -12x }'
    const marked =
      'bands small return 12 K {\n    1 to 10 cores above 58 °C -12x\n    ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ return-latches\n  }'
    const grouped = (bands: string, steps = soundSteps): string => `--- a.detent\n${twoGroups(`${steps}\n  ${bands}`)}`
    /** Where the die rests at the ratio of the band: the steps of the small cores have it, and no band is there. */
    const slowC = (): Promise<number> => dieC(grouped('', soundSteps.replace('40x', '28x')), 'whole')
    /** The widest return in tenths of a kelvin that leaves the band again. */
    const narrowest = async (): Promise<number> => Math.floor((58 - (await slowC())) * 10) / 10

    it('is found where that group alone has a return, with its own ratios', async () => {
      const [finding] = await checkReturn(grouped(marked))
      expect(finding).toMatchObject({ severity: 'warning', group: 'small' })
      expect(finding?.message).toMatch(
        /^Clock of small does not come back to 40x: `whole` with 4 cores of broad and 10 of small /,
      )
      const rest = Number((await slowC()).toFixed(1))
      expect(finding?.message).toContain(`at 28x the die then rests at ${rest} °C, not below 46 °C`)
      const [mild] = await checkReturn(grouped(marked.replace('58 °C', '61 °C')))
      expect(mild?.message).toContain('From cold 40x holds')
      expect(mild?.message).toContain(`it rests at ${rest} °C with 28x, not below 49 °C`)
    })

    it('is found beside another return that is narrow enough, and narrows its own alone', async () => {
      const beside = '\n  bands broad return 1 K { 1 to 4 cores above 90 °C -2x }'
      const [finding] = await checkReturn(grouped(`${marked}${beside}`))
      expect(finding?.message).toContain('not below 46 °C')
      const text = await fixed('return-latches', grouped(`${small}${beside}`), { brings: ['band-alternating'] })
      expect(text).toContain(`bands small return ${await narrowest()} K`)
      expect(text).toContain('bands broad return 1 K')
    })

    it('is found in rows for every group', async () => {
      const all = marked.replace('bands small', 'bands')
      const [finding] = await checkReturn(grouped(`${all}\n  bands broad return 0 K { 1 to 4 cores above 90 °C -1x }`))
      expect(finding?.message).toContain('Clock of small does not come back to 40x')
      expect(finding?.fixes?.[0]?.edits.map(edit => edit.text)).toEqual([`${await narrowest()} K`])
    })
  })

  describe('agrees with the course over time (model section 10)', () => {
    /** The clocks of the last quarter of an hour of `weave`, second by second, in whole MHz, each once. */
    async function lateClocks(fixture: string): Promise<readonly number[]> {
      const loaded = await loadFixture(fixture)
      const input = loaded.service.evaluations('file:///bench/a.detent')[0]?.input
      const load = input?.loads.find(({ name }) => name === 'weave')?.load
      const corner = input?.corners[0]
      if (input?.bench === undefined || load?.kind !== 'work' || corner === undefined) throw new Error('no input')
      const { series } = simulate(input.bench, load, corner, { overS: 1800, tickS: 0.05 }) ?? { series: undefined }
      return [...new Set((series?.clockMhz ?? []).slice(-900).map(clock => Math.round(clock)))]
    }

    it('where the band holds from cold, and where it does not', async () => {
      expect(await lateClocks(band(39, 5))).toEqual([4400])
      const narrow = await lateClocks(band(39, 0.3))
      expect(Math.min(...narrow)).toBeGreaterThan(4400)
      expect(Math.max(...narrow)).toBeLessThan(4600)
    })

    it('where it holds only after something warmer', async () => {
      // So much power at idle that the load finds the die above the band.
      const warm = (fixture: string): string => fixture.replace('idle-power 6 W', 'idle-power 120 W')
      expect(await lateClocks(band(42, 5))).toEqual([4600])
      expect(await lateClocks(warm(band(42, 5)))).toEqual([4400])
      expect(await lateClocks(warm(band(42, 3)))).toEqual([4600])
    })
  })
})
