import { describe, expect, it } from 'vitest'
import type { Evaluation } from '../../server/semantic/evaluate.ts'
import { type Expectation, expectationsOf } from '../../server/semantic/expectations.ts'
import { probabilityOf } from '../../server/semantic/probability.ts'
import { demo, edited } from '../checks/demo.ts'
import { loadFixture, uriOf } from '../harness/fixture.ts'

async function evaluated(text: string, index = 0): Promise<Evaluation> {
  const { service } = await loadFixture(text)
  return service.evaluations(uriOf('a.detent'))[index] as Evaluation
}

const base = demo('expect-failed')
const withLines = (...lines: string[]): string => edited(base, ['expect burn holds >= 5.2 GHz', lines.join('\n  ')])

async function one(line: string, text = withLines(line)): Promise<Expectation> {
  return expectationsOf(await evaluated(text))[0] as Expectation
}

describe('expectations', () => {
  it('are written in one spelling, without `expect`', async () => {
    expect((await one('expect   burn holds ≥5.0GHz   for 12 min')).text).toBe('burn holds >= 5.0 GHz for 12 min')
    expect((await one('expect burn die <= 80 degC')).text).toBe('burn die <= 80 °C')
    expect((await one('expect idle plate >= -5 °C')).text).toBe('idle plate >= -5 °C')
  })

  it('give the figure in the unit of the line', async () => {
    expect(await one('expect burn holds >= 4900 MHz')).toMatchObject({ predicted: 5000, unit: 'MHz', holds: true })
    expect(await one('expect burn voltage >= 1200 mV')).toMatchObject({ predicted: 1235, unit: 'mV', holds: true })
  })

  it('take the worst core count and corner for the way they compare', async () => {
    const hot = await one('expect burn die <= 80 °C')
    expect([hot.worst?.load.load, hot.worst?.corner.airC]).toMatchObject([{ cores: 8 }, 24])
    const cold = await one('expect burn die >= 10 °C')
    expect([cold.worst?.load.load, cold.worst?.corner.airC]).toMatchObject([{ cores: 1 }, 18])
  })

  it('judge every figure at every prediction of the load', async () => {
    const lines = {
      'die <= 200 °C': 'dieC',
      'plate <= 200 °C': 'plateC',
      'coolant <= 200 °C': 'coolantC',
      'power <= 900 W': 'powerW',
      'current <= 900 A': 'currentA',
    } as const
    for (const [line, field] of Object.entries(lines)) {
      const evaluation = await evaluated(withLines(`expect burn ${line}`))
      const values = evaluation.predictions
        .filter(({ load }) => load.name === 'burn')
        .map(({ settled }) => settled[field])
      const [expectation] = expectationsOf(evaluation)
      expect(expectation?.predicted).toBe(Math.max(...values.map(Number)))
      expect(expectation?.holds).toBe(true)
    }
  })

  it('take plate minus wet point, corner by corner', async () => {
    const text = edited(demo('condensation'), [
      '  drive hold 8 °C',
      '  drive hold 16 °C\n  expect idle plate above dew by 1 K',
    ])
    const expectation = await one('', text)
    // The dew point of 24 °C and 55 % is 14.40 °C: with l = ln 0.55 + 17.62 · 24/267.12 = 0.98527 it is 243.12 l/(17.62 − l).
    expect(expectation.predicted).toBeCloseTo(16 - 14.4, 2)
    expect(expectation).toMatchObject({ unit: 'K', holds: true, text: 'idle plate above dew by 1 K' })
  })

  it('allow a millionth, and a microkelvin', async () => {
    expect((await one('expect burn holds >= 5.000004 GHz')).holds).toBe(true)
    expect((await one('expect burn holds >= 5.00001 GHz')).holds).toBe(false)
    const wet = edited(demo('condensation'), ['  drive hold 8 °C', '  drive hold 16 °C\n  expect idle plate >= 16 °C'])
    expect((await one('', wet)).holds).toBe(true)
  })

  it('fail on thermal runaway, without a figure', async () => {
    for (const line of ['die <= 300 °C', 'power <= 9000 W', 'holds >= 0.1 GHz', 'die >= 10 °C']) {
      const text = edited(demo('thermal-runaway'), ['  voltage {', `  expect burn ${line}\n  voltage {`])
      expect(await one('', text)).toMatchObject({ predicted: null, holds: false })
    }
  })

  it('wait for a run over time, and are decided by its slowest second', async () => {
    const evaluation = await evaluated(
      withLines('expect burn holds >= 1.0 GHz for 2 min', 'expect burn holds >= 9 GHz for 2 min'),
    )
    expect(expectationsOf(evaluation).map(({ holds, pending }) => ({ holds, pending }))).toEqual([
      { holds: null, pending: true },
      { holds: null, pending: true },
    ])
    expect(evaluation.overTime.pending()).toBeGreaterThan(0)
    evaluation.overTime.makeAll()
    const [kept, missed] = expectationsOf(evaluation)
    expect(kept).toMatchObject({ holds: true, worst: { corner: { airC: 24 } } })
    expect(kept?.lastsS).toBeUndefined()
    // The first full second already is too slow.
    expect(missed).toMatchObject({ holds: false, lastsS: 0 })
    expect(missed?.predicted).toBe(kept?.predicted)
  })

  it('carry a probability where constants carry an uncertainty', async () => {
    const chance = async (text: string): Promise<number | undefined> => {
      const evaluation = await evaluated(text)
      const [first] = expectationsOf(evaluation)
      return first && probabilityOf(evaluation, first)
    }
    const stated = (text: string): string =>
      edited(text, ['  switching 1.6 nF\n', '  switching 1.6 nF\n  leakage-doubling 28 K\n  leakage-exponent 3\n'])
    const lines = stated(withLines('expect burn die <= 80 °C'))
    const certain = expectationsOf(await evaluated(lines))[0]
    expect(await chance(lines)).toBeUndefined()
    const limit = certain?.predicted ?? 0
    const at = (text: string) => edited(stated(text), ['switching 1.6 nF', 'switching 1.6 nF ± 0.02 nF'])
    // Exactly at the predicted figure it is an even chance, by the symmetry of the normal distribution.
    const even = await chance(at(withLines(`expect burn die <= ${limit.toFixed(6)} °C`)))
    expect(even).toBeCloseTo(0.5, 3)
    const sure = await chance(at(withLines(`expect burn die <= ${(limit + 30).toFixed(1)} °C`)))
    expect(sure).toBeGreaterThan(0.999)
    // A constant that is left out is uncertain too.
    expect(await chance(withLines(`expect burn die <= ${limit.toFixed(6)} °C`))).toBeCloseTo(0.5, 1)
  })

  it('are inherited, unless the same figure is expected again', async () => {
    const lines = withLines('expect burn die <= 80 °C', 'expect burn power <= 100 W')
    const night = `${lines}\nprofile night based-on daily {\n  expect burn power <= 130 W\n}\n`
    const found = expectationsOf(await evaluated(night, 1))
    expect(found.map(({ text, holds }) => `${text} ${holds}`)).toEqual([
      'burn power <= 130 W true',
      'burn die <= 80 °C true',
    ])
  })
})
