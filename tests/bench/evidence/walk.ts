/**
 * The posterior of voltages by other means: a Metropolis walk over continuous rows and ln σ, written from the equations
 * alone, without the grid, the chain or the likelihood code under test.
 */
import type { VoltageTrial } from '../../../server/bench/evidence/hazard.ts'
import type { Proof } from '../../../server/semantic/proof.ts'

export interface WalkFigures {
  readonly rows: readonly { readonly meanV: number; readonly spreadV: number; readonly probability: number }[]
  readonly sharpnessMedianV: number
}

interface Row {
  readonly ratio: number
  readonly voltageV: number
}

function generator(seed: number): () => number {
  let state = BigInt(seed) * 6364136223846793005n + 1442695040888963407n
  return () => {
    state = BigInt.asUintN(64, state * 6364136223846793005n + 1442695040888963407n)
    return Number(state >> 11n) / 2 ** 53
  }
}

/** Inverse of a symmetric positive matrix by Gauss and Jordan. */
function inverse(matrix: readonly (readonly number[])[]): number[][] {
  const n = matrix.length
  const work = matrix.map((row, i) => [...row, ...Array.from({ length: n }, (_, j) => (i === j ? 1 : 0))])
  for (let i = 0; i < n; i++) {
    const pivot = work[i]![i]!
    for (let j = 0; j < 2 * n; j++) work[i]![j]! /= pivot
    for (let k = 0; k < n; k++) {
      if (k === i) continue
      const factor = work[k]![i]!
      for (let j = 0; j < 2 * n; j++) work[k]![j]! -= factor * work[i]![j]!
    }
  }
  return work.map(row => row.slice(n))
}

function lineAt(ratios: readonly number[], volts: readonly number[], ratio: number): number {
  if (ratio <= ratios[0]! || ratios.length === 1) return volts[0]!
  let i = 1
  while (i < ratios.length - 1 && ratio > ratios[i]!) i++
  const slope = (volts[i]! - volts[i - 1]!) / (ratios[i]! - ratios[i - 1]!)
  return volts[i - 1]! + slope * (ratio - ratios[i - 1]!)
}

export function walk(
  rows: readonly Row[],
  trials: readonly VoltageTrial[],
  proof: Proof,
  steps: number,
  seed: number,
): WalkFigures {
  const n = rows.length
  const ratios = rows.map(row => row.ratio)
  const precision = inverse(
    ratios.map(a => ratios.map(b => 0.025 ** 2 * Math.exp(-Math.abs(a - b) / 20) * (a === b ? 1 + 1e-12 : 1))),
  )
  const above = Math.log(proof.forS / 3600) - Math.log(-Math.log(proof.probability))
  const logDensity = (x: readonly number[]): number => {
    const volts = x.slice(0, n)
    for (let i = 1; i < n; i++) if (volts[i]! < volts[i - 1]!) return Number.NEGATIVE_INFINITY
    const off = volts.map((v, i) => v - rows[i]!.voltageV)
    let log = 0
    for (let i = 0; i < n; i++) for (let j = 0; j < n; j++) log -= (off[i]! * precision[i]![j]! * off[j]!) / 2
    const sigma = Math.exp(x[n]!)
    log -= ((x[n]! - Math.log(0.005)) / Math.log(1.7)) ** 2 / 2
    for (const { ratio, comparableV, end } of trials) {
      const mu = lineAt(ratios, volts, ratio) - above * sigma
      const rate = Math.exp(Math.min(60, -(comparableV - mu) / sigma)) / 3600 + 1 / 720_000
      if (end.kind === 'held') log -= rate * end.forS
      else if (end.afterS < 60) log += Math.log(1 - Math.exp(-60 * rate) || 1e-300)
      else log += -rate * (end.afterS - 60) + Math.log(1 - Math.exp(-60 * rate) || 1e-300)
    }
    return log
  }
  const uniform = generator(seed)
  const normal = (): number => Math.sqrt(-2 * Math.log(1 - uniform())) * Math.cos(2 * Math.PI * uniform())
  let x = [...rows.map(row => row.voltageV), Math.log(0.005)]
  let density = logDensity(x)
  const sums = rows.map(() => ({ sum: 0, square: 0, enough: 0 }))
  const sharpness: number[] = []
  const burn = steps / 10
  for (let step = 0; step < steps + burn; step++) {
    // By turns all rows together, one row, and the sharpness.
    const next = [...x]
    const turn = step % (n + 2)
    if (turn === 0) {
      const shift = 0.012 * normal()
      for (let i = 0; i < n; i++) next[i]! += shift
    } else if (turn <= n) next[turn - 1]! += 0.01 * normal()
    else next[n]! += 0.5 * normal()
    const there = logDensity(next)
    if (Math.log(uniform()) < there - density) [x, density] = [next, there]
    if (step < burn) continue
    for (let i = 0; i < n; i++) {
      const off = x[i]! - rows[i]!.voltageV
      sums[i]!.sum += off
      sums[i]!.square += off * off
      if (off <= 0) sums[i]!.enough++
    }
    if (step % 20 === 0) sharpness.push(x[n]!)
  }
  sharpness.sort((a, b) => a - b)
  return {
    rows: sums.map(({ sum, square, enough }, i) => {
      const mean = sum / steps
      return {
        meanV: rows[i]!.voltageV + mean,
        spreadV: Math.sqrt(square / steps - mean * mean),
        probability: enough / steps,
      }
    }),
    sharpnessMedianV: Math.exp(sharpness[sharpness.length >> 1]!),
  }
}
