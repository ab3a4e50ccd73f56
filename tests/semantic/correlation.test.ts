import { describe, expect, it } from 'vitest'
import type { Evaluation } from '../../server/semantic/evaluate.ts'
import { correlationOf } from '../../server/semantic/shifts.ts'
import { uncertaintyOf } from '../../server/semantic/uncertainty.ts'
import { loadFixture, uriOf } from '../harness/fixture.ts'
import { onBench } from '../harness/sound-bench.ts'

async function powerUncertainty(...lines: readonly string[]): Promise<number> {
  const bench = onBench('  steps { 1 to 4 cores 46x }')
    .replace(/^ {2}switching (.*?)( ±.*)?$/m, '  switching $1 ± 2 %')
    .replace(/^ {2}leakage (\S+ W)( ±.*?)? at/m, '  leakage $1 ± 8 % at')
    .replace(/^ {2}switching/m, `${lines.map(line => `  ${line}\n`).join('')}  switching`)
  const { service } = await loadFixture(bench)
  const evaluation = service.evaluations(uriOf('a.detent'))[0] as Evaluation
  const prediction = evaluation.predictions.find(one => one.load.load.kind === 'work')!
  const found = uncertaintyOf(evaluation.input, prediction)!
  expect(found.drawnFor).toBeUndefined()
  return found.interval(settled => settled.powerW).standardUncertainty!
}

describe('correlated constants', () => {
  it('are taken as independent where nothing is said', async () => {
    expect(await powerUncertainty('correlated switching leakage 0')).toBe(await powerUncertainty())
  })

  it('narrow a sum where they are correlated against each other, and widen it the other way', async () => {
    const [against, none, along] = [
      await powerUncertainty('correlated switching leakage -0.93'),
      await powerUncertainty(),
      await powerUncertainty('correlated switching leakage 0.93'),
    ]
    expect(against).toBeLessThan(0.9 * none)
    expect(along).toBeGreaterThan(1.05 * none)
    // u² = a² + b² ± 2·0.93·a·b: the mean of both is the sum without.
    expect((against ** 2 + along ** 2) / 2).toBeCloseTo(none ** 2, 6)
  })

  it('may be named in either order, and the last line for a pair counts', async () => {
    const once = await powerUncertainty('correlated leakage switching -0.5')
    expect(await powerUncertainty('correlated switching leakage -0.5')).toBe(once)
    expect(await powerUncertainty('correlated switching leakage 0.9', 'correlated leakage switching -0.5')).toBe(once)
  })

  it('say nothing for a constant without an uncertainty, or with itself', () => {
    const constants = [{ name: 'part switching', standardUncertainty: 1, changes: [] }]
    const line = (first: string, second: string) => [{ first, second, coefficient: 0.5 }]
    expect(correlationOf(constants, line('part switching', 'part leakage'))).toBeUndefined()
    expect(correlationOf(constants, line('part switching', 'part switching'))).toBeUndefined()
  })
})
