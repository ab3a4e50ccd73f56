import { describe, expect, it } from 'vitest'
import { finished } from '../../server/model/index.ts'
import { allWithIntervals, createService } from '../../server/service.ts'
import { memoryFiles } from '../harness/file-systems.ts'
import { soundSteps, twoGroups } from '../harness/two-groups.ts'

/** All that the bench leaves out is stated, the small cores are on a rail of their own, and one constant is uncertain. */
function benchText(switching: string, expectations: readonly string[] = [], more = ''): string {
  const lines = expectations.map(line => `  expect ${line}`).join('\n')
  return twoGroups(`${soundSteps}\n${lines}`, more)
    .replace('  reference 100 MHz', '  reference 100 MHz\n  leakage-doubling 28 K\n  leakage-exponent 3')
    .replace('    switching 0.75 nF', `    switching ${switching}\n    rail side`)
}

async function bench(text: string) {
  const uri = 'file:///bench/a.detent'
  const service = createService(memoryFiles({ [uri]: text }))
  await service.workspace.load([uri])
  const [evaluation] = service.evaluations(uri)
  if (evaluation === undefined) throw new Error('the bench has one profile')
  const whole = evaluation.predictions.find(({ load }) => load.name === 'whole')
  if (whole === undefined) throw new Error('the bench predicts the load')
  return { service, evaluation, whole }
}

const currentOf = (of: Awaited<ReturnType<typeof bench>>, group: string): number =>
  of.whole.settled.groups?.find(one => one.group === group)?.currentA ?? Number.NaN

describe('what is uncertain of one group', () => {
  it('is the interval of that group’s figures in JSON, as two predictions beside each other say', async () => {
    const [low, high, between] = await Promise.all(
      ['0.74 nF', '0.76 nF', '0.75 nF ± 0.01 nF'].map(one => bench(benchText(one))),
    )
    if (low === undefined || high === undefined || between === undefined) throw new Error('three benches')
    const [found] = allWithIntervals(between.evaluation).filter(({ load }) => load === 'whole')
    for (const group of ['broad', 'small']) {
      const [from, to] = found?.interval?.groups?.find(one => one.group === group)?.current_a ?? []
      const uncertainty = ((to ?? Number.NaN) - (from ?? Number.NaN)) / 2 / 1.959963984540054
      expect(uncertainty).toBeCloseTo(Math.abs(currentOf(high, group) - currentOf(low, group)) / 2, 4)
    }
    const small = found?.interval?.groups?.find(one => one.group === 'small')
    expect((small?.current_a?.[1] ?? 0) - (small?.current_a?.[0] ?? 0)).toBeGreaterThan(1)
  })

  it('gives an expectation of that group a probability, that of another group none of it', async () => {
    const nominal = await bench(benchText('0.75 nF'))
    const small = currentOf(nominal, 'small')
    const broad = currentOf(nominal, 'broad')
    const lines = [
      `whole current small <= ${small.toFixed(3)} A`,
      `whole current small <= ${(small * 1.01).toFixed(3)} A`,
      `whole current broad <= ${(broad * 1.01).toFixed(3)} A`,
    ]
    const { service, evaluation } = await bench(benchText('0.75 nF ± 0.01 nF', lines))
    const probabilities = service
      .expectations(evaluation)
      .map(one => finished(service.probabilityInSlices(evaluation, one)) ?? Number.NaN)
    expect(probabilities[0]).toBeCloseTo(0.5, 1)
    // One percent of the current is 0.8 of its standard uncertainty, and many of the other rail's.
    expect(probabilities[1]).toBeGreaterThan(0.7)
    expect(probabilities[1]).toBeLessThan(0.85)
    expect(probabilities[2]).toBeGreaterThan(0.999)
  })

  it('is drawn where a level of that group alone changes', async () => {
    // The small cores give back ratio close to where they settle; the broad ones never do.
    const nominal = await bench(benchText('0.75 nF'))
    const dieC = nominal.whole.settled.dieC ?? Number.NaN
    const bands = (switching: string): string =>
      benchText(switching, ['whole holds small >= 3.999 GHz']).replace(
        '  expect',
        `  bands small { 1 to 10 cores above ${(dieC + 0.1).toFixed(2)} °C -1x }\n  expect`,
      )
    const { service, evaluation } = await bench(bands('0.75 nF ± 0.01 nF'))
    const [found] = allWithIntervals(evaluation).filter(({ load }) => load === 'whole')
    expect(found?.interval_by).toBe('draws')
    const clocks = found?.interval?.groups?.map(({ clock_mhz }) => clock_mhz)
    expect(clocks?.[0]?.[0]).toBeCloseTo(5000, 6)
    expect(clocks?.[1]?.[0]).toBeLessThan(4000)
    const [expectation] = service.expectations(evaluation)
    const probability = expectation && finished(service.probabilityInSlices(evaluation, expectation))
    expect(probability).toBeGreaterThan(0.4)
    expect(probability).toBeLessThan(0.99)
  })

  it('goes together with another’s where a `correlated` line names both groups', async () => {
    const widthOf = async (coefficient: string) => {
      const text = benchText('0.75 nF ± 0.03 nF')
        .replace('switching 2.2 nF', 'switching 2.2 nF ± 0.08 nF')
        .replace('  reference', `  correlated switching of broad switching of small ${coefficient}\n  reference`)
      const { evaluation } = await bench(text)
      const [low, high] = allWithIntervals(evaluation).find(({ load }) => load === 'whole')?.interval?.power_w ?? []
      return (high ?? Number.NaN) - (low ?? Number.NaN)
    }
    const [together, apart] = [await widthOf('0.9'), await widthOf('-0.9')]
    expect(together / apart).toBeGreaterThan(2)
  })
})
