import { describe, expect, it } from 'vitest'
import { usualAmount, usualRadiator, usualValueOf } from '../../grammar/vocabulary/usual-values.ts'
import type { Evaluation } from '../../server/semantic/evaluate.ts'
import { shiftConstants, unitShift } from '../../server/semantic/shifts.ts'
import { uncertaintyOf } from '../../server/semantic/uncertainty.ts'
import { allFiguresOf } from '../../server/service.ts'
import { loadFixture, uriOf } from '../harness/fixture.ts'
import { uncertainConstants } from '../harness/uncertain.ts'

/** A part of five lines with the voltage that held, and a cooler that states nothing. */
const bench = (part = '', cooler = '', kind = 'loop'): string => `--- a.detent
detent 1
part five {
  cores 8
  reference 100 MHz
  ratio 8x to 58x
  core-voltage 0.65 V to 1.45 V
  die-limit 100 °C
  needs { 48x 1.2 V }
${part}}
cooler plain kind ${kind} {
${cooler}}
room den { air 22 °C; humidity 45 % }
load full { cores 8 }
profile daily {
  part five
  cooler plain
  room den
  steps { 1 to 8 cores 46x }
  voltage { core needs }
}
`

async function evaluated(text: string): Promise<Evaluation> {
  const { service } = await loadFixture(text)
  return service.evaluations(uriOf('a.detent'))[0]!
}

const full = (evaluation: Evaluation) => evaluation.predictions.find(({ load }) => load.name === 'full')!

describe('a constant that is left out', () => {
  it('counts as the usual value of a part with so many cores', async () => {
    const { part, cooler } = (await evaluated(bench())).input.bench!
    // The table of the usual values: engineering judgement, no source.
    expect(part).toMatchObject({
      switchingNf: 2,
      leakageW: 12,
      leakageAtV: 1.2,
      leakageAtC: 60,
      leakageDoublingK: 28,
      leakageExponent: 3,
      sharedPowerW: 10,
      packageResistanceKPerW: 0.09,
      coreResistanceKPerW: 0.5,
      dieHeatJPerK: 12,
    })
    expect(part.idlePowerW).toBeCloseTo(10.8, 12)
    expect(cooler).toMatchObject({
      blockResistanceKPerW: 0.04,
      plateHeatJPerK: 150,
      coolantHeatJPerK: 3000,
      radiator: [
        { dutyPct: 25, resistanceKPerW: 0.08 },
        { dutyPct: 100, resistanceKPerW: 0.04 },
      ],
    })
    const fins = (await evaluated(bench('', '', 'air'))).input.bench!.cooler
    expect(fins).toMatchObject({
      coolantHeatJPerK: 400,
      radiator: [
        { dutyPct: 30, resistanceKPerW: 0.2 },
        { dutyPct: 100, resistanceKPerW: 0.12 },
      ],
    })
  })

  it('stands in `assumed` with its spread', async () => {
    const [figures] = allFiguresOf(await evaluated(bench()))
    expect(figures!.assumed).toEqual(
      expect.arrayContaining([
        'switching 2.0 nF (factor 1.4)',
        'leakage 12 W at 1.20 V 60 °C (factor 1.8)',
        'idle-power 10.8 W (factor 1.6)',
        'leakage-exponent 3 (factor 1.25)',
        'radiator 25 % 0.08 K/W; 100 % 0.04 K/W (factor 1.5)',
        'coolant-heat 3000 J/K (factor 2)',
      ]),
    )
    const stated = allFiguresOf(await evaluated(bench('  switching 2.0 nF\n')))[0]!
    expect(stated.assumed.filter(one => one.startsWith('switching'))).toEqual([])
  })

  it('has a spread of its own in each row of a radiator', async () => {
    const names = (await evaluated(bench())).input.uncertain.map(({ name, spread }) => `${name} ${spread}`)
    expect(names).toContain('cooler radiator 25 % 1.5')
    expect(names).toContain('cooler radiator 100 % 1.5')
    expect(usualRadiator.chilled).toEqual([])
  })

  it('moves by its factor, whatever its size, and stays above nothing', async () => {
    const { input } = await evaluated(bench())
    const constants = uncertainConstants(input, 'full')
    const { load } = full(await evaluated(bench()))
    for (const by of [-8, -1, 1, 8]) {
      const shifts = constants.map(one => by * unitShift(one))
      const { part, cooler } = shiftConstants(input.bench!, load.load, constants, shifts).bench
      expect(part.switchingNf).toBeCloseTo(2 * 1.4 ** by, 9)
      expect(part.leakageW).toBeCloseTo(12 * 1.8 ** by, 9)
      // The model takes this one from 1 on.
      expect(part.leakageExponent).toBeCloseTo(Math.max(1, 3 * 1.25 ** by), 9)
      expect(cooler.kind === 'loop' && cooler.radiator[1]!.resistanceKPerW).toBeCloseTo(0.04 * 1.5 ** by, 9)
    }
  })

  it('is left alone where only its heat capacity is not known: that settles nothing', async () => {
    const stated = `  switching 2 nF
  leakage 12 W at 1.20 V 60 °C
  leakage-doubling 28 K
  leakage-exponent 3
  shared-power 10 W
  idle-power 11 W
  package-resistance 0.09 K/W
  core-resistance 0.5 K/W
`
    const evaluation = await evaluated(bench(stated, '  block-resistance 0.04 K/W\n  radiator { 100 % 0.04 K/W }\n'))
    expect(evaluation.input.uncertain.map(({ name }) => name)).toEqual([
      'part die-heat',
      'cooler plate-heat',
      'cooler coolant-heat',
    ])
    expect(uncertaintyOf(evaluation.input, full(evaluation))).toBeUndefined()
  })

  it('counts as nothing in the place of a line that does not read', async () => {
    const { input } = await evaluated(bench('  switching 2 V\n'))
    expect(input.bench).toBeUndefined()
    expect(input.missing).toMatchObject([{ word: 'switching', broken: true }])
  })

  it('has the draws of a log-normal constant', async () => {
    // With all else stated, the power of cores alone is a constant times the switched capacitance.
    const stated = `  leakage 0 W at 1.20 V 60 °C
  leakage-doubling 28 K
  leakage-exponent 3
  shared-power 0 W
  idle-power 11 W
  package-resistance 0.09 K/W
  core-resistance 0.1 K/W
`
    const evaluation = await evaluated(bench(stated, '  block-resistance 0.04 K/W\n  radiator { 100 % 0.04 K/W }\n'))
    const { low, high, value } = uncertaintyOf(evaluation.input, full(evaluation))!.interval(one => one.powerW)
    expect(high! / value!).toBeCloseTo(1.4 ** 1.96, 1)
    expect(value! / low!).toBeCloseTo(1.4 ** 1.96, 1)
  })

  it('depends on no cores where it is the cooler’s', () => {
    expect(usualAmount(usualValueOf('cooler', 'block-resistance')!, Number.NaN)).toBe(0.04)
    expect(usualAmount(usualValueOf('part', 'shared-power')!, 20)).toBe(16)
    expect(usualValueOf('part', 'cores')).toBeUndefined()
    expect(usualValueOf('part', 'toString')).toBeUndefined()
  })
})
