import { describe, expect, test } from 'vitest'
import type { System } from '../../server/model/transient/rodas.ts'
import { integrate } from '../harness/integrate.ts'
import { twoCapacities } from './two-capacities.ts'

const tight = { relative: 1e-10, absolute: 1e-12 }

function system(
  size: number,
  derivative: (y: Float64Array) => number[],
  jacobian: (y: Float64Array) => number[][],
): System {
  return {
    size,
    derivative: (y, out) => out.set(derivative(y)),
    jacobian: (y, out) => out.set(jacobian(y).flat()),
  }
}

describe('published stiff problems', () => {
  // Reference solutions: Test Set for IVP Solvers (University of Bari), routine `solut`.
  test('Van der Pol, stiffness 1e-6, at t = 2', () => {
    const stiff = 1e-6
    const vanDerPol = system(
      2,
      y => [y[1]!, ((1 - y[0]! ** 2) * y[1]! - y[0]!) / stiff],
      y => [
        [0, 1],
        [(-2 * y[0]! * y[1]! - 1) / stiff, (1 - y[0]! ** 2) / stiff],
      ],
    )
    const y = integrate(vanDerPol, [2, 0], 2, tight, 1e-6)
    expect(y[0]! / 1.706167732170483).toBeCloseTo(1, 7)
    expect(y[1]! / -0.8928097010247975).toBeCloseTo(1, 7)
  })

  test('Robertson at t = 1e11', () => {
    const robertson = system(
      3,
      y => [
        -0.04 * y[0]! + 1e4 * y[1]! * y[2]!,
        0.04 * y[0]! - 1e4 * y[1]! * y[2]! - 3e7 * y[1]! ** 2,
        3e7 * y[1]! ** 2,
      ],
      y => [
        [-0.04, 1e4 * y[2]!, 1e4 * y[1]!],
        [0.04, -1e4 * y[2]! - 6e7 * y[1]!, -1e4 * y[1]!],
        [0, 6e7 * y[1]!, 0],
      ],
    )
    const y = integrate(robertson, [1, 0, 0], 1e11, { relative: 1e-9, absolute: 1e-18 }, 1e-6)
    expect(y[0]! / 0.2083340149701255e-7).toBeCloseTo(1, 5)
    expect(y[1]! / 0.8333360770334713e-13).toBeCloseTo(1, 5)
    expect(y[2]!).toBeCloseTo(0.999999979166505, 9)
  })
})

/** Two nodes over ambient: C1 T1' = P − (T1 − T2)/R1; C2 T2' = (T1 − T2)/R1 − T2/R2. */
function ladder(c1: number): System {
  const [c2, r1, r2, power] = [400, 0.1, 0.15, 150]
  return system(
    2,
    y => [(power - (y[0]! - y[1]!) / r1) / c1, ((y[0]! - y[1]!) / r1 - y[1]! / r2) / c2],
    () => [
      [-1 / (r1 * c1), 1 / (r1 * c1)],
      [1 / (r1 * c2), -(1 / r1 + 1 / r2) / c2],
    ],
  )
}

describe('two-node thermal ladder', () => {
  test.each(twoCapacities)('time constants 1.9 s and 63 s, at %d s', (t, hot, cold) => {
    const y = integrate(ladder(20), [0, 0], t, tight)
    expect(y[0]! / hot).toBeCloseTo(1, 8)
    expect(y[1]! / cold).toBeCloseTo(1, 8)
  })

  // Analytic solution by eigenvalues in 30-digit arithmetic, independent of this project.
  test.each([
    [0.001, 2.71904096816323, 3.51196806618025e-5],
    [0.02, 14.7292207030714, 0.00565806915402923],
    [0.1, 15.0337205350864, 0.0355925218614925],
    [1, 15.3681583955932, 0.370002485196455],
    [60, 29.2202982570755, 14.2209881459774],
    [300, 37.348276132959, 22.3482887750342],
  ])('time constants apart by 12,003, at %d s', (t, hot, cold) => {
    const y = integrate(ladder(0.05), [0, 0], t, tight)
    expect(y[0]! / hot).toBeCloseTo(1, 8)
    expect(y[1]! / cold).toBeCloseTo(1, 7)
  })
})

/** First-order step response, any text on circuits: 1 − e^(−t/τ). */
describe('RC step response', () => {
  test.each([
    [0.5, 0.393469340287367],
    [1, 0.632120558828558],
    [2, 0.864664716763387],
    [3, 0.950212931632136],
    [5, 0.993262053000915],
  ])('after %d time constants', (t, share) => {
    const y = integrate(
      system(
        1,
        y => [1 - y[0]!],
        () => [[-1]],
      ),
      [0],
      t,
      tight,
    )
    expect(y[0]!).toBeCloseTo(share, 9)
  })
})
