import { describe, expect, test } from 'vitest'
import type { Bench, Load } from '../../server/model/types.ts'
import type { Evaluation } from '../../server/semantic/evaluate.ts'
import { type Expectation, expectationsOf } from '../../server/semantic/expectations.ts'
import { probabilityOf } from '../../server/semantic/probability.ts'
import { shiftConstants } from '../../server/semantic/shifts.ts'
import { uncertaintyOf } from '../../server/semantic/uncertainty.ts'
import { loadFixture, uriOf } from '../harness/fixture.ts'
import { partText, rowsText } from '../harness/make-text.ts'
import { uncertainConstants } from '../harness/uncertain.ts'

/** An invented bench on which every constant that may carry `±` has a place. */
const coolers = {
  'still-pond': `cooler still-pond kind loop {
  plate-heat 150 J/K
  coolant-heat 3000 J/K
  block-resistance 0.05 K/W
  radiator {
    20 %  0.090 K/W
    100 % 0.060 K/W
  }
}`,
  'cold-brook': `cooler cold-brook kind chilled {
  plate-heat 150 J/K
  coolant 8 °C
  capacity 60 W
  beyond 0.08 K/W
  block-resistance 0.05 K/W
}`,
  'bought-plate': `cooler bought-plate kind thermoelectric {
  plate-heat 150 J/K
  coolant-heat 3000 J/K
  modules 3
  module { at 27 °C; current 15 A; voltage 15.4 V; heat 142 W; difference 68 K }
  drive-current 5 A
  block-resistance 0.03 K/W
  radiator { 100 % 0.05 K/W }
}`,
  'known-plate': `cooler known-plate kind thermoelectric {
  plate-heat 150 J/K
  coolant-heat 3000 J/K
  modules 3
  module { seebeck 51 mV/K; resistance 0.80 Ω; conductance 1.4 W/K }
  drive-current 5 A
  block-resistance 0.03 K/W
  radiator { 100 % 0.05 K/W }
}`,
}

const text = (cooler: keyof typeof coolers): string => `detent 1

${partText('willow-6', {
  cores: '6',
  needs: rowsText('30x   0.930 V', '40x   1.040 V', '50x   1.240 V'),
  'needs-slope': '0.4 mV/K',
  'vector-needs': '20 mV',
  'leakage-doubling': '30 K',
  'leakage-exponent': '3.5',
  'die-heat': '12 J/K',
})}
${coolers[cooler]}

board plank {
  load-line 0.4 mΩ
  core-voltage-step 5 mV
}

room loft {
  air 22 °C
  humidity 50 %
}

load weave { cores 6; activity 0.9; vector yes }

profile daily {
  part willow-6
  cooler ${cooler}
  room loft
  board plank
  steps { 1 to 6 cores 45x }
  voltage { core needs + 10 mV }
  drive full
  expect weave die <= 60 °C
}
`

function firstOf(evaluation: Evaluation): {
  readonly expectation: Expectation | undefined
  readonly probability: number | undefined
} {
  const [expectation] = expectationsOf(evaluation)
  return { expectation, probability: expectation && probabilityOf(evaluation, expectation) }
}

async function evaluated(source: string): Promise<Evaluation> {
  const { service } = await loadFixture(source)
  const [evaluation] = service.evaluations(uriOf('a.detent'))
  if (evaluation?.input.bench === undefined) throw new Error('the bench is complete')
  return evaluation
}

function edited(source: string, from: string, to: string): string {
  if (source.split(from).length !== 2) throw new Error(`"${from}" stands there once`)
  return source.replace(from, to)
}

function inputOf(evaluation: Evaluation): { bench: Bench; load: Load } {
  const weave = evaluation.predictions.find(prediction => prediction.load.name === 'weave')
  return { bench: evaluation.input.bench as Bench, load: weave?.load.load as Load }
}

type Row = readonly [keyof typeof coolers, string, string, string, number]

/** Cooler, the line's value as it stands, with `±`, and with that uncertainty added; then what the model is given. */
const forms: readonly Row[] = [
  ['still-pond', 'switching 2.0 nF', 'switching 2.0 nF ± 0.05 nF', 'switching 2.05 nF', 0.05],
  ['still-pond', 'switching 2.0 nF', 'switching 2.0 nF ± 3 %', 'switching 2.06 nF', 0.06],
  ['still-pond', 'switching 2.0 nF', 'switching 2.0 nF ± 50 pF', 'switching 2.05 nF', 0.05],
  ['still-pond', 'switching 2.0 nF', 'switching 2.0 nF +- 0.05', 'switching 2.05 nF', 0.05],
  ['still-pond', '40x   1.040 V', '40x   1.040 V ± 5 mV', '40x   1.045 V', 0.005],
  ['still-pond', 'needs-slope 0.4 mV/K', 'needs-slope 0.4 mV/K ± 0.5 mV/K', 'needs-slope 0.9 mV/K', 0.0005],
  ['still-pond', 'vector-needs 20 mV', 'vector-needs 20 mV ± 4 mV', 'vector-needs 24 mV', 0.004],
  ['still-pond', 'leakage 8 W at', 'leakage 8 W ± 0.5 W at', 'leakage 8.5 W at', 0.5],
  ['still-pond', 'leakage-doubling 30 K', 'leakage-doubling 30 K ± 2 K', 'leakage-doubling 32 K', 2],
  ['still-pond', 'leakage-exponent 3.5', 'leakage-exponent 3.5 ± 0.3', 'leakage-exponent 3.8', 0.3],
  ['still-pond', 'shared-power 8 W', 'shared-power 8 W ± 10 %', 'shared-power 8.8 W', 0.8],
  ['still-pond', 'idle-power 6 W', 'idle-power 6 W ± 1 W', 'idle-power 7 W', 1],
  [
    'still-pond',
    'package-resistance 0.10 K/W',
    'package-resistance 0.10 K/W ± 0.01',
    'package-resistance 0.11 K/W',
    0.01,
  ],
  ['still-pond', 'core-resistance 0.40 K/W', 'core-resistance 0.40 K/W ± 0.05', 'core-resistance 0.45 K/W', 0.05],
  ['still-pond', 'die-heat 12 J/K', 'die-heat 12 J/K ± 1 J/K', 'die-heat 13 J/K', 1],
  ['still-pond', 'block-resistance 0.05 K/W', 'block-resistance 0.05 K/W ± 10 %', 'block-resistance 0.055 K/W', 0.005],
  ['still-pond', '100 % 0.060 K/W', '100 % 0.060 K/W ± 0.002', '100 % 0.062 K/W', 0.002],
  ['still-pond', 'load-line 0.4 mΩ', 'load-line 0.4 mΩ ± 0.1 mΩ', 'load-line 0.5 mΩ', 0.0001],
  ['still-pond', 'activity 0.9', 'activity 0.9 ± 0.05', 'activity 0.95', 0.05],
  ['cold-brook', 'coolant 8 °C', 'coolant 8 °C ± 1 K', 'coolant 9 °C', 1],
  ['cold-brook', 'capacity 60 W', 'capacity 60 W ± 5 W', 'capacity 65 W', 5],
  ['cold-brook', 'beyond 0.08 K/W', 'beyond 0.08 K/W ± 0.01', 'beyond 0.09 K/W', 0.01],
  ['known-plate', 'seebeck 51 mV/K', 'seebeck 51 mV/K ± 1', 'seebeck 52 mV/K', 0.001],
  ['known-plate', 'resistance 0.80 Ω', 'resistance 0.80 Ω ± 0.02', 'resistance 0.82 Ω', 0.02],
  ['known-plate', 'conductance 1.4 W/K', 'conductance 1.4 W/K ± 0.1', 'conductance 1.5 W/K', 0.1],
  // Datasheet figures act on all three constants; small enough here to be straight.
  ['bought-plate', 'current 15 A;', 'current 15 A ± 0.001 A;', 'current 15.001 A;', 0.001],
  ['bought-plate', 'voltage 15.4 V', 'voltage 15.4 V ± 0.001 V', 'voltage 15.401 V', 0.001],
  ['bought-plate', 'difference 68 K', 'difference 68 K ± 0.001 K', 'difference 68.001 K', 0.001],
]

/** Every number in a plain value, by its path. */
function numbersIn(value: unknown, path = ''): Map<string, number> {
  const found = new Map<string, number>()
  if (typeof value === 'number') found.set(path, value)
  else if (typeof value === 'object' && value !== null)
    for (const [key, one] of Object.entries(value))
      for (const entry of numbersIn(one, `${path}.${key}`)) found.set(...entry)
  return found
}

describe('each form of `±` reaches the model', () => {
  test.each(forms)('%s: %s → %s', async (cooler, plain, uncertain, added, standardUncertainty) => {
    const evaluation = await evaluated(edited(text(cooler), plain, uncertain))
    const { bench, load } = inputOf(evaluation)
    const constants = uncertainConstants(evaluation.input, 'weave')
    expect(constants.map(constant => constant.standardUncertainty)).toEqual([expect.closeTo(standardUncertainty, 12)])
    // Moved by its uncertainty it is the bench that has the larger value written into it.
    const ours = numbersIn(shiftConstants(bench, load, constants, [standardUncertainty]))
    const theirs = numbersIn(inputOf(await evaluated(edited(text(cooler), plain, added))))
    expect([...ours.keys()].sort()).toEqual([...theirs.keys()].sort())
    let moved = 0
    const before = numbersIn({ bench, load })
    for (const [path, value] of theirs) {
      expect(Math.abs((ours.get(path) as number) - value), path).toBeLessThan(1e-8 * (1 + Math.abs(value)))
      if (value !== before.get(path)) moved++
    }
    expect(moved).toBeGreaterThan(0)
  })

  test('no constant without `±` is uncertain', async () => {
    for (const cooler of Object.keys(coolers) as (keyof typeof coolers)[]) {
      const evaluation = await evaluated(text(cooler))
      expect(uncertainConstants(evaluation.input, 'weave')).toEqual([])
      const prediction = evaluation.predictions[0]
      expect(prediction && uncertaintyOf(evaluation.input, prediction)).toBeUndefined()
    }
  })
})

describe('a sample that strays', () => {
  const strayed = async (cooler: keyof typeof coolers, plain: string, uncertain: string, by: number) => {
    const evaluation = await evaluated(edited(text(cooler), plain, uncertain))
    const { bench, load } = inputOf(evaluation)
    return shiftConstants(bench, load, uncertainConstants(evaluation.input, 'weave'), [by]).bench
  }

  test('may pass 0 °C, and turn a slope of needs', async () => {
    const cold = await strayed('cold-brook', 'coolant 8 °C', 'coolant 8 °C ± 5 K', -10)
    expect(cold.cooler).toMatchObject({ coolantC: -2 })
    const falling = await strayed('still-pond', 'needs-slope 0.4 mV/K', 'needs-slope 0.4 mV/K ± 0.3 mV/K', -0.0006)
    expect(falling.part.needsSlopeVPerK).toBeCloseTo(-0.0002, 12)
  })

  test('leaves the model its domain', async () => {
    const thin = await strayed('still-pond', 'switching 2.0 nF', 'switching 2.0 nF ± 1 nF', -3)
    expect(thin.part.switchingNf).toBeGreaterThan(0)
    const straight = await strayed('still-pond', 'leakage-exponent 3.5', 'leakage-exponent 1.2 ± 0.3', -0.9)
    expect(straight.part.leakageExponent).toBe(1)
    const stiff = await strayed('still-pond', 'load-line 0.4 mΩ', 'load-line 0 mΩ ± 0.1 mΩ', -0.0002)
    expect(stiff.board.loadLineOhm).toBe(0)
  })
})

describe('an expectation on an uncertain bench', () => {
  const source = edited(
    edited(text('still-pond'), 'switching 2.0 nF', 'switching 2.0 nF ± 0.02 nF'),
    'package-resistance 0.10 K/W',
    'package-resistance 0.10 K/W ± 0.001 K/W',
  )

  test('comes with its probability, that of the interval', async () => {
    const evaluation = await evaluated(source)
    const weave = evaluation.predictions.find(prediction => prediction.load.name === 'weave')
    const found = weave && uncertaintyOf(evaluation.input, weave)
    const interval = found?.interval(settled => settled.dieC)
    expect(found?.drawnFor).toBeUndefined()
    expect(interval?.standardUncertainty).toBeGreaterThan(0.1)
    const value = interval?.value ?? 0
    const u = interval?.standardUncertainty ?? 0
    // A limit one standard uncertainty above what is predicted: 84.13 % of a normal law.
    const limited = edited(source, 'die <= 60 °C', `die <= ${(value + u).toFixed(6)} °C`)
    const { expectation, probability } = firstOf(await evaluated(limited))
    expect(expectation?.holds).toBe(true)
    expect(probability).toBeCloseTo(0.8413, 4)
    const failed = edited(source, 'die <= 60 °C', `die <= ${(value - u).toFixed(6)} °C`)
    const other = firstOf(await evaluated(failed))
    expect(other.expectation?.holds).toBe(false)
    expect(other.probability).toBeCloseTo(0.1587, 4)
  })

  test('has none on a bench without `±`', async () => {
    const { expectation, probability } = firstOf(await evaluated(text('still-pond')))
    expect(expectation?.holds).toBe(true)
    expect(probability).toBeUndefined()
  })
})
