import { describe, expect, it } from 'vitest'
import { logEvidence } from '../../../server/bench/likelihood/log.ts'
import { usualLoop } from '../../../server/bench/likelihood/priors.ts'
import { withoutSpikes } from '../../../server/bench/likelihood/spikes.ts'
import { benchAt, drawnConstants, drawnSetting, drawnTruth, drawsFrom } from '../../harness/drawn-benches.ts'
import { heatedLog, logPointOf } from '../../harness/drawn-logs.ts'

const all = drawnConstants.map((_, index) => index)

/**
 * What a bench without noise leaves over at its true constants under a load; undefined where it boils over.
 * @param swing by which share two ratios that alternate are above and below their mean
 */
function leftOver(seed: number, swing = 0): { readonly sensor: string; readonly kelvins: number }[] | undefined {
  const draws = drawsFrom(seed)
  const truth = drawnTruth(draws)
  const bench = benchAt(truth)
  const setting = drawnSetting(draws)
  const log = heatedLog(bench, setting, {
    ...{ draws, seconds: 400, stepS: 2, sensors: ['die', 'plate', 'coolant'] },
    ...{ noiseK: 0, noiseW: 0, offsets: { die: 0, plate: 0, coolant: 0 }, swing },
  })
  if (log === undefined) return undefined
  const point = { ...logPointOf(log, draws, setting.cores), air: { value: log.airC, standardUncertainty: 1 } }
  const evidence = logEvidence(point, { cooler: usualLoop, benchAt, unknowns: all, warming: all.length })
  const residuals = new Float64Array(evidence.size)
  expect(evidence.residuals(Float64Array.from([...truth, 0]), residuals)).toBe(true)
  return evidence.rows.flatMap(({ sensor, first }, row) =>
    sensor === 'power' || evidence.blocks[first]?.isLoaded === false
      ? []
      : [{ sensor, kelvins: residuals[row] as number }],
  )
}

describe('a log without noise', () => {
  it('is what its bench does, in every block of the warm-up', () => {
    let benches = 0
    const most: Record<string, number> = { die: 0, plate: 0, coolant: 0 }
    for (let seed = 1; seed <= 30; seed++) {
      const left = leftOver(seed)
      if (left === undefined) continue
      benches++
      expect(left.filter(({ sensor }) => sensor === 'die').length, `bench ${seed}`).toBeGreaterThan(10)
      for (const { sensor, kelvins } of left) most[sensor] = Math.max(most[sensor] as number, Math.abs(kelvins))
    }
    expect(benches).toBeGreaterThan(20)
    // A plate that warms within a block pulls the die along; the die follows it in a second or two.
    expect(most.die).toBeLessThan(0.1)
    expect(most.plate).toBeLessThan(0.01)
    expect(most.coolant).toBeLessThan(0.006)
  })

  it('is what its bench does where two ratios alternate from reading to reading', () => {
    const dies = Array.from({ length: 30 }, (_, at) => leftOver(at + 1, 0.02) ?? [])
      .flat()
      .filter(({ sensor }) => sensor === 'die')
      .map(({ kelvins }) => Math.abs(kelvins))
    expect(dies.length).toBeGreaterThan(300)
    // With the mean power of each block it was more than 0.3 K.
    expect(Math.max(...dies)).toBeLessThan(0.1)
  })
})

describe('a spike', () => {
  const sections = [
    { from: 0, to: 20 },
    { from: 20, to: 60 },
  ]
  const steps = Float64Array.from({ length: 60 }, (_, at) => (at < 20 ? 25 : 80) + 0.1 * Math.sin(7 * at))

  it('is one reading beyond both its neighbours, also as a load begins', () => {
    for (const at of [8, 20, 35]) {
      const read = steps.with(at, (steps[at] as number) + 60)
      expect(withoutSpikes(read, sections)[at]).toBeNaN()
    }
  })

  it('is not the first reading under a load, halfway to where it goes', () => {
    const read = steps.with(20, 50)
    expect(withoutSpikes(read, sections)).toEqual(read)
  })
})
