/** An independent integrator for tests of runs over time. */

import { createRequire } from 'node:module'

/** What is used of the package `odex`, whose own sources do not pass this project's compiler settings. */
interface OdexSolver {
  absoluteTolerance: number
  relativeTolerance: number
  maxSteps: number
  solve(derivative: (t: number, y: number[]) => number[], from: number, start: number[], to: number): { y: number[] }
}

const { Solver } = createRequire(import.meta.url)('odex') as { Solver: new (size: number) => OdexSolver }

/** Integrates y' = f(y) over a time by extrapolation (GBS), an explicit method of variable order. */
export function solveByOdex(
  derivative: (y: number[]) => number[],
  start: number[],
  overS: number,
  tolerance: number,
): number[] {
  const solver = new Solver(start.length)
  solver.absoluteTolerance = tolerance
  solver.relativeTolerance = tolerance
  solver.maxSteps = 1_000_000
  return solver.solve((_t, y) => derivative(y), 0, start, overS).y
}
