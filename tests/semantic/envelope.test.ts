import { describe, expect, it } from 'vitest'
import { settle, settleState } from '../../server/model/index.ts'
import { envelopeOf } from '../../server/semantic/envelope.ts'
import type { Evaluation } from '../../server/semantic/evaluate.ts'
import { demo, edited, messageOf, placesOf } from '../checks/demo.ts'
import { loadFixture, uriOf } from '../harness/fixture.ts'

async function evaluated(text: string): Promise<Evaluation> {
  const { service } = await loadFixture(text)
  return service.evaluations(uriOf('a.detent'))[0] as Evaluation
}

const plain = edited(
  demo('cooler-overload'),
  ['    5 to 8 cores   50x\n', '    5 to 6 cores   50x\n'],
  ['1 to 8 }', '2 to 3 }'],
)

describe('the envelope', () => {
  it('covers every core count that a step row covers, in every corner, and idle', async () => {
    const evaluation = await evaluated(plain)
    const cases = envelopeOf(evaluation).map(({ name, load, corner }) => {
      return `${name} ${load.kind === 'work' ? load.cores : 0} ${corner.airC} ${corner.humidityPct}`
    })
    const corners = ['18 40', '18 55', '24 40', '24 55']
    const expected = [1, 2, 3, 4, 5, 6].flatMap(count => corners.map(corner => `burn ${count} ${corner}`))
    expect(cases).toEqual([...expected, ...corners.map(corner => `idle 0 ${corner}`)])
  })

  it('has for each point what the model says of it alone, humidity and all', async () => {
    for (const text of [plain, demo('condensation'), edited(demo('condensation'), ['hold 8 °C', 'dew + 1 K'])]) {
      const evaluation = await evaluated(text)
      const { bench } = evaluation.input
      const points = envelopeOf(evaluation)
      expect(points.length).toBeGreaterThan(20)
      for (const { load, corner, settled } of points) {
        const alone = bench === undefined ? null : settleState(bench, load, corner)
        expect(settled).toMatchObject(alone ?? {})
        expect(alone).not.toBeNull()
      }
    }
  })

  it('shares work between corners only where the predictions are those of each alone', async () => {
    for (const text of [plain, demo('condensation'), edited(demo('condensation'), ['hold 8 °C', 'dew + 1 K'])]) {
      const { input, predictions } = await evaluated(text)
      expect(new Set(predictions.map(({ settled }) => settled.wetC)).size).toBe(input.corners.length)
      for (const { load, corner, settled } of predictions) {
        expect(settled).toEqual(input.bench === undefined ? undefined : settle(input.bench, load.load, corner))
      }
    }
  })

  it('is computed once for an evaluation', async () => {
    const evaluation = await evaluated(plain)
    expect(envelopeOf(evaluation)).toBe(envelopeOf(evaluation))
  })

  it('takes loads that differ in nothing but their core counts for one, and names the nearest', async () => {
    const text = edited(plain, [
      'load burn { cores 2 to 3 }',
      'load burn { cores 2 to 3 }\nload wide { cores 6 }\nload soft { cores 4; activity 0.5 }',
    ])
    const first = envelopeOf(await evaluated(text)).filter(
      ({ corner }) => corner.airC === 18 && corner.humidityPct === 40,
    )
    const work = first.flatMap(({ name, load }) =>
      load.kind === 'work' ? [`${name} ${load.cores} ${load.activity}`] : [],
    )
    const hard = ['burn 1 1', 'burn 2 1', 'burn 3 1', 'burn 4 1', 'wide 5 1', 'wide 6 1']
    expect(work).toEqual([...hard, ...[1, 2, 3, 4, 5, 6].map(count => `soft ${count} 0.5`)])
  })

  it('finds what fails only between the declared core counts', async () => {
    // 4 cores at 50x and 8 at 40x stay within 85 W; 5 at 50x do not.
    const text = edited(
      demo('cooler-overload'),
      ['rating 90 W', 'rating 85 W'],
      ['load burn { cores 1 to 8 }', 'load burn { cores 1 to 4 }\nload broad { cores 8 }'],
      ['    5 to 8 cores   50x', '    5 to 6 cores   50x\n    7 to 8 cores   40x'],
    )
    expect(await placesOf('cooler-overload', text)).toEqual(['5 to 6 cores 50x'])
    expect(await messageOf('cooler-overload', text)).toMatch(/: `\w+` on 6 active cores \(declared as/)
  })

  it('finds a profile that fails on 5 active cores alone, though its loads are declared for 4 and for 8', async () => {
    const text = edited(
      demo('cooler-overload'),
      ['rating 90 W', 'rating 76 W'],
      ['load burn { cores 1 to 8 }', 'load burn { cores 4 }\nload broad { cores 8 }'],
      ['    1 to 4 cores   50x', '    1 to 5 cores   50x'],
      ['    5 to 8 cores   50x', '    6 to 8 cores   36x'],
    )
    const evaluation = await evaluated(text)
    for (const { settled } of evaluation.predictions) expect(settled.powerW).toBeLessThan(76)
    const over = envelopeOf(evaluation).filter(({ settled }) => (settled.powerW ?? 0) > 76)
    expect(new Set(over.map(({ load }) => load.kind === 'work' && load.cores))).toEqual(new Set([5]))
    expect(await placesOf('cooler-overload', text)).toEqual(['1 to 5 cores 50x'])
    expect(await messageOf('cooler-overload', text)).toMatch(
      /: `burn` on 5 active cores \(declared as 4; [^)]*\) at 24 °C air/,
    )
  })

  it('is empty where something is missing', async () => {
    expect(envelopeOf(await evaluated(edited(plain, ['  reference 100 MHz\n', ''])))).toEqual([])
  })
})
