import { describe, expect, it } from 'vitest'
import type { FitResult } from '../../server/bench/fit/fit.ts'
import type { RunsFit } from '../../server/bench/fit/runs.ts'
import { leftTexts, sourceTexts, warmingText } from '../../server/features/fit/words.ts'

const said = (valueK: number, standardUncertaintyK: number): string | undefined => {
  const learned = 1 - (standardUncertaintyK / 2) ** 2
  const warming: FitResult['warming'] = { valueK, standardUncertaintyK, intervalK: [valueK - 1, valueK + 1], learned }
  return warmingText({ warming } as FitResult)
}

describe('what a fit says of the room', () => {
  it('is how far it warmed or cooled, with its ±', () => {
    expect(said(1.84, 0.31)).toBe('the room warmed by 1.84 K ± 0.31 K over each log, which no constant has to explain')
    expect(said(-1.2, 0.4)).toContain('the room cooled by 1.20 K ± 0.4 K over each log')
  })

  it('is that it stayed the same, or that nothing tells', () => {
    expect(said(-0.1, 0.22)).toBe('the room kept its temperature over each log (-0.10 K ± 0.22 K)')
    expect(said(0.3, 1.95)).toMatch(/^the logs do not tell whether the room warmed/)
  })

  it('is nothing without logs', () => {
    expect(warmingText({ warming: undefined } as FitResult)).toBeUndefined()
  })
})

describe('what a fit says of where its constants come from', () => {
  const constants = [
    { learned: 0.5, constant: { name: 'switching', from: 'usual' } },
    { learned: 0.49, constant: { name: 'leakage', from: 'usual' } },
    { learned: -0.02, constant: { name: 'die-heat', from: 'usual' } },
    { learned: 0.3, constant: { name: 'shared-power', from: 'stated' } },
  ]
  const said = (used: RunsFit['used']) => sourceTexts({ constants } as unknown as FitResult, { used })

  it('is the runs from half of what there is to learn on, else what was known before', () => {
    expect(said([{ run: 'one' }] as unknown as RunsFit['used'])).toEqual([
      'from your runs: switching',
      'mostly the usual value: leakage, die-heat',
      'mostly as stated: shared-power',
    ])
    expect(said([])[0]).toBe('from your points: switching')
  })
})

describe('what a fit says of coolers', () => {
  const of = (points: number, ...names: readonly string[]): string | undefined => {
    const coolers = new Map(names.map(name => [name, {}]))
    const fittable = [
      'switching',
      ...names.filter(name => name !== 'broken').map(name => `block-resistance of ${name}`),
    ]
    const fit = { part: { name: 'sample' }, coolers, points, fittable } as unknown as RunsFit
    return leftTexts({ held: [], untouched: [] } as unknown as FitResult, fit)[0]
  }

  it('is why known points tell nothing of one', () => {
    expect(of(4)).toBe('no cooler is fitted: no profile of sample names one that can be read')
    expect(of(4, 'broken')).toBe(of(4))
    expect(of(4, 'tower', 'loop')).toMatch(/^known points count for the part alone: .*\(tower, loop\)$/)
  })

  it('is nothing where there is one, or there are no points', () => {
    expect(of(4, 'tower')).toBeUndefined()
    expect(of(0)).toBeUndefined()
  })
})
