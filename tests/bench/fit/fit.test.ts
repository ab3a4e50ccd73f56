import { describe, expect, it } from 'vitest'
import type { FitResult, FittedConstant } from '../../../server/bench/fit/fit.ts'
import type { RunsFit, RunsFitOptions } from '../../../server/bench/fit/runs.ts'
import { fitRuns } from '../../harness/at-once.ts'
import { loadFixture, uriOf } from '../../harness/fixture.ts'

const uri = uriOf('a.detent')

/** What a bench of these constants does, to the digits of an instrument: made by the model's equations by hand. */
interface Made {
  readonly clockGhz: number
  readonly voltageV: number
  readonly powerW: number
  readonly dieC: number
}

const truth = { switching: 2.2, leakage: 16, doubling: 28, exponent: 3, shared: 11, package: 0.1, core: 0.5 }

/** At a plate of this temperature. */
function made(clockGhz: number, voltageV: number, plateC: number, cores = 8): Made {
  let [dieC, powerW] = [plateC, 0]
  for (let round = 0; round < 200; round++) {
    const dynamicW = cores * truth.switching * voltageV ** 2 * clockGhz
    const leakageW = truth.leakage * (voltageV / 1.2) ** truth.exponent * 2 ** ((dieC - 60) / truth.doubling)
    powerW = dynamicW + leakageW + truth.shared
    dieC = plateC + truth.package * powerW + (truth.core * dynamicW) / cores
  }
  return { clockGhz, voltageV, powerW, dieC }
}

const row = ({ clockGhz, voltageV, powerW, dieC }: Made, plateC: number, more = ''): string =>
  `${clockGhz} GHz ${voltageV} V ${powerW.toFixed(1)} W ${dieC.toFixed(1)} °C plate ${plateC} °C ${more}`

const settings = [
  [3.2, 0.9, 30],
  [4, 1.02, 34],
  [4.6, 1.15, 38],
  [5, 1.27, 42],
  [5.2, 1.33, 44],
] as const
const rows = settings.map(([ghz, volts, plate]) => row(made(ghz, volts, plate), plate))

const bench = (known: readonly string[], part = '', rest = ''): string => `detent 1

part p {
  cores 8
  reference 100 MHz
  ratio 8x to 60x
  core-voltage 0.7 V to 1.5 V
  die-limit 105 °C
${part}
  known {
    ${known.join('\n    ')}
  }
}
${rest}`

async function fitOf(text: string, options: RunsFitOptions = {}): Promise<RunsFit> {
  const { service } = await loadFixture(text)
  const view = service.workspace.view(uri)!
  return fitRuns(view.scope.find('part', 'p')!, service.bench.compared(uri), options)
}

function resultOf({ result }: RunsFit): FitResult {
  if (!('constants' in result)) throw new Error(result.why)
  return result
}
const named = (fit: RunsFit, name: string): FittedConstant =>
  resultOf(fit).constants.find(({ constant }) => constant.name === name)!
/** Distance from what it is, in its standard uncertainty. */
const off = ({ value, standardUncertainty }: FittedConstant, real: number): number =>
  Math.abs(value - real) / standardUncertainty

describe('a fit to remembered points alone', () => {
  it('finds the constants from their usual values', async () => {
    const fit = await fitOf(bench(rows))
    expect(fit.points).toBe(5)
    for (const [name, real] of [
      ['switching', truth.switching],
      ['leakage', truth.leakage],
      ['shared-power', truth.shared],
      ['package-resistance', truth.package],
      ['core-resistance', truth.core],
    ] as const)
      expect(off(named(fit, name), real), name).toBeLessThan(2.5)
    expect(named(fit, 'switching').learned).toBeGreaterThan(0.9)
    expect(fit.odd).toEqual([])
  })

  it('refuses nothing: of one point too all constants keep what was known of them', async () => {
    const fit = await fitOf(bench(rows.slice(0, 1)))
    const { constants } = resultOf(fit)
    expect(constants.length).toBeGreaterThan(5)
    for (const { standardUncertainty, interval, learned } of constants) {
      expect([standardUncertainty, ...interval].every(Number.isFinite)).toBe(true)
      expect(learned).toBeLessThan(1)
    }
    expect(named(fit, 'leakage-doubling').learned).toBeLessThan(0.2)
  })

  it('starts from what is stated, with its ±', async () => {
    const [sure, loose] = await Promise.all(
      ['± 0.001 W', '± 6 W'].map(spread => fitOf(bench(rows, `  shared-power 20 W ${spread}`))),
    )
    // Known to a thousandth it is as good as a plain fact, on which nothing here depends any more.
    expect(resultOf(sure!).constants.map(({ constant }) => constant.name)).not.toContain('shared-power')
    expect(named(loose!, 'shared-power').value).toBeLessThan(18)
    expect(named(loose!, 'shared-power').constant.from).toBe('stated')
  })

  it('weighs an odd reading down and names it', async () => {
    const wrong = rows.with(2, rows[2]!.replace(/[\d.]+ W/, '260 W'))
    const [fit, right] = await Promise.all([fitOf(bench(wrong)), fitOf(bench(rows))])
    expect(fit.odd).toMatchObject([{ figure: 'power', unit: '%' }])
    expect(fit.odd[0]!.difference).toBeGreaterThan(20)
    // It would move the switching by a twentieth if it were averaged.
    expect(named(fit, 'switching').value / named(right, 'switching').value - 1).toBeLessThan(0.03)
  })

  it('has nothing to go by without any point', async () => {
    const { result } = await fitOf(bench([]).replace(/ {2}known \{[^}]*\}/, '  needs { 46x 1.1 V }'))
    expect(result).toMatchObject({ why: 'there is no run and no known point' })
  })
})

describe('what was measured', () => {
  it('is used where it was measured: a wrong cooler does not bend the power law', async () => {
    const rest = (block: string): string => `
cooler c kind loop { block-resistance ${block} K/W; radiator { 100 % 0.04 K/W } }
room den { air 22 °C; humidity 45 % }
load all { cores 8; activity 1 }
profile q {
  part p
  cooler c
  room den
  steps { 1 to 8 cores 46x }
  voltage { core fixed 1.15 V }
}
`
    const fits = await Promise.all(['0.04', '0.4'].map(block => fitOf(bench(rows, '', rest(block)))))
    const [good, bad] = fits.map(fit => named(fit, 'switching').value)
    expect(Math.abs(bad! / good! - 1)).toBeLessThan(0.003)
  })

  it('takes no more of a constant than there is: the posterior is never wider than what was known', async () => {
    const { constants } = resultOf(await fitOf(bench(rows)))
    for (const { constant, learned } of constants) expect(learned, constant.name).toBeGreaterThan(-0.15)
  })
})

describe('constants that are asked for', () => {
  it('are fitted alone, what the others are uncertain by carried to them', async () => {
    const [all, one] = await Promise.all([fitOf(bench(rows)), fitOf(bench(rows), { free: ['switching'] })])
    expect(resultOf(one).constants.map(({ constant }) => constant.name)).toEqual(['switching'])
    expect(resultOf(one).held.map(({ name }) => name)).toContain('leakage')
    expect(off(named(one, 'switching'), truth.switching)).toBeLessThan(2.5)
    expect(named(one, 'switching').standardUncertainty).toBeGreaterThan(
      0.8 * named(all, 'switching').standardUncertainty,
    )
  })

  it('are not fitted where they are held', async () => {
    const fit = await fitOf(bench(rows), { hold: ['leakage', 'needs-slope'] })
    expect(resultOf(fit).constants.map(({ constant }) => constant.name)).not.toContain('leakage')
    expect(resultOf(fit).held.map(({ name }) => name)).toEqual(['leakage'])
    expect(fit.needsSlopes).toEqual([])
  })
})

describe('runs', () => {
  const runs = (light: string): string => `
cooler c kind loop { block-resistance 0.04 K/W ± 0.002 K/W; radiator { 100 % 0.04 K/W ± 0.002 K/W } }
room den { air 22 °C; humidity 45 % }
load all { cores 8; activity 1 }
load half { cores 4; activity 0.5 }
profile q {
  part p
  cooler c
  room den
  steps { 1 to 8 cores 46x }
  voltage { core fixed 1.15 V }
}
run a of q under all { air 22 °C; measured { clock 4.6 GHz; voltage 1.15 V; power 140.2 W; die 46 °C } }
run b of q under ${light} { air 22 °C; measured { clock 4.6 GHz; voltage 1.15 V; power 50.5 W; die 31 °C } }
run c of q under half { air 22 °C; measured { clock 4.6 GHz; voltage 1.15 V; power 50.5 W; die 31 °C } }
`

  it('filed under a load that they cannot have been run with are pointed out, with what fits', async () => {
    const fit = await fitOf(bench(rows, '', runs('all')))
    expect(fit.misfiled).toEqual([{ run: 'b', profile: 'q', load: 'half' }])
    expect((await fitOf(bench(rows, '', runs('half')))).misfiled).toEqual([])
  })

  it('give the same figures in any order', async () => {
    const { service } = await loadFixture(bench(rows, '', runs('half')))
    const part = service.workspace.view(uri)!.scope.find('part', 'p')!
    const all = service.bench.compared(uri)
    const [one, other] = [all, all.toReversed()].map(list => resultOf(fitRuns(part, list)).constants)
    one!.forEach(({ constant, value }) => {
      expect(other!.find(found => found.constant.name === constant.name)!.value).toBeCloseTo(value, 6)
    })
  })
})
