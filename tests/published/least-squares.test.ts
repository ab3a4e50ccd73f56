import { describe, expect, test } from 'vitest'
import { factor, inverseOf } from '../../server/bench/statistics/cholesky.ts'
import { descend } from '../../server/bench/statistics/descent.ts'
import { posteriorOf } from '../../server/bench/statistics/posterior.ts'
import { finished } from '../../server/model/slices.ts'

/**
 * The way down to the likeliest values, for normal errors and without a prior: least squares. Against NIST's reference data
 * (StRD, public domain) and the GUM's calibration of a thermometer.
 */

type Point = readonly [x: number, y: number]

const points = (text: string): readonly Point[] =>
  text
    .trim()
    .split(/\s+/)
    .map(pair => pair.split(',').map(Number) as unknown as Point)

/** Digits in agreement, as NIST counts them. */
const digits = (found: number, certified: number): number =>
  -Math.log10(Math.abs(found - certified) / Math.abs(certified) || 1e-16)

interface Problem {
  readonly residuals: (parameters: readonly number[]) => number[]
  /** By differences, without it. */
  readonly jacobian?: (parameters: readonly number[]) => number[][]
}

interface LeastSquares {
  readonly parameters: readonly number[]
  readonly standardUncertainties: readonly number[]
  readonly correlation: readonly (readonly number[])[]
  readonly sumOfSquares: number
  readonly residualSd: number
  readonly degreesOfFreedom: number
}

const inOne = <A, R>(of: (at: A) => R) =>
  // biome-ignore lint/correctness/useYield: it is quick
  function* (at: A): Generator<undefined, R> {
    return of(at)
  }

const CUBE_ROOT_OF_EPSILON = 6e-6

function fitLeastSquares({ residuals, jacobian }: Problem, start: readonly number[]): LeastSquares {
  const n = start.length
  const cost = (at: ArrayLike<number>): number => residuals(Array.from(at)).reduce((sum, one) => sum + one * one, 0)
  const byDifferences = (at: readonly number[]): number[][] => {
    const columns = at.map((value, index) => {
      const by = CUBE_ROOT_OF_EPSILON * Math.max(Math.abs(value), 1e-4)
      const [above, below] = [by, -by].map(step => residuals(at.with(index, value + step)))
      return above!.map((one, row) => (one - below![row]!) / (2 * by))
    })
    return residuals(at).map((_, row) => columns.map(column => column[row]!))
  }
  const slopesAt = (from: ArrayLike<number>) => {
    const at = Array.from(from)
    const [left, rows] = [residuals(at), jacobian?.(at) ?? byDifferences(at)]
    const [gradient, matrix] = [new Float64Array(n), new Float64Array(n * n)]
    rows.forEach((row, index) => {
      for (let i = 0; i < n; i++) {
        gradient[i]! += row[i]! * left[index]!
        for (let j = 0; j < n; j++) matrix[i * n + j]! += row[i]! * row[j]!
      }
    })
    return { gradient, matrix }
  }
  let found: Float64Array = Float64Array.from(start)
  // As often as a fit goes down again while its covariances are found.
  for (let round = 0; round < 8; round++) found = finished(descend(inOne(cost), found, inOne(slopesAt), 0))
  const { matrix } = slopesAt(found)
  expect(factor(matrix, n)).toBe(true)
  const inverse = inverseOf(matrix, n)
  const sumOfSquares = cost(found)
  const degreesOfFreedom = residuals(Array.from(found)).length - n
  const residualSd = Math.sqrt(sumOfSquares / degreesOfFreedom)
  const at = (i: number, j: number): number => inverse[i * n + j]!
  return {
    parameters: Array.from(found),
    standardUncertainties: start.map((_, i) => residualSd * Math.sqrt(at(i, i))),
    correlation: start.map((_, i) => start.map((__, j) => at(i, j) / Math.sqrt(at(i, i) * at(j, j)))),
    ...{ sumOfSquares, residualSd, degreesOfFreedom },
  }
}

interface Certified {
  readonly parameters: readonly (readonly [value: number, sd: number])[]
  readonly sumOfSquares: number
  readonly residualSd: number
  readonly degreesOfFreedom: number
}

function expectCertified(found: LeastSquares | undefined, certified: Certified, sdDigits = 4): void {
  certified.parameters.forEach(([value, sd], index) => {
    expect(digits(found!.parameters[index]!, value)).toBeGreaterThan(6)
    expect(digits(found!.standardUncertainties[index]!, sd)).toBeGreaterThan(sdDigits)
  })
  expect(digits(found!.sumOfSquares, certified.sumOfSquares)).toBeGreaterThan(6)
  expect(digits(found!.residualSd, certified.residualSd)).toBeGreaterThan(6)
  expect(found!.degreesOfFreedom).toBe(certified.degreesOfFreedom)
}

const problem = (data: readonly Point[], model: (x: number, b: readonly number[]) => number): Problem => ({
  residuals: b => data.map(([x, y]) => model(x, b) - y),
})

describe('NIST, nonlinear', () => {
  const misra = points(`
    77.6,10.07 114.9,14.73 141.1,17.94 190.8,23.93 239.9,29.61 289.0,35.18 332.8,40.02 378.4,44.82
    434.8,50.76 477.3,55.05 536.8,61.01 593.1,66.4 689.1,75.47 760.0,81.78
  `)
  test.each([[[500, 0.0001]], [[250, 0.0005]]])('Misra1a from %j', start => {
    const found = fitLeastSquares(
      problem(misra, (x, [a = 0, b = 0]) => a * (1 - Math.exp(-b * x))),
      start,
    )
    expectCertified(found, {
      parameters: [
        [2.3894212918e2, 2.7070075241],
        [5.5015643181e-4, 7.2668688436e-6],
      ],
      sumOfSquares: 1.2455138894e-1,
      residualSd: 1.018787633e-1,
      degreesOfFreedom: 12,
    })
  })

  test('Misra1a with exact derivatives: all printed digits', () => {
    const model = problem(misra, (x, [a = 0, b = 0]) => a * (1 - Math.exp(-b * x)))
    const jacobian = ([a = 0, b = 0]: readonly number[]) =>
      misra.map(([x]) => [1 - Math.exp(-b * x), a * x * Math.exp(-b * x)])
    const found = fitLeastSquares({ ...model, jacobian }, [500, 0.0001])!
    expect(digits(found.parameters[0]!, 2.3894212918e2)).toBeGreaterThan(9.5)
    expect(digits(found.standardUncertainties[0]!, 2.7070075241)).toBeGreaterThan(9)
    expect(digits(found.standardUncertainties[1]!, 7.2668688436e-6)).toBeGreaterThan(9)
  })

  const chwirut = points(`
    0.5,92.9 1.0,57.1 1.75,31.05 3.75,11.5875 5.75,8.025 0.875,63.6 2.25,21.4 3.25,14.25 5.25,8.475
    0.75,63.8 1.75,26.8 2.75,16.4625 4.75,7.125 0.625,67.3 1.25,41.0 2.25,21.15 4.25,8.175 0.5,81.5
    3.0,13.12 0.75,59.9 3.0,14.62 1.5,32.9 6.0,5.44 3.0,12.56 6.0,5.44 1.5,32.0 3.0,13.95 0.5,75.8 2.0,20.0
    4.0,10.42 0.75,59.5 2.0,21.67 5.0,8.55 0.75,62.0 2.25,20.2 3.75,7.76 5.75,3.75 3.0,11.81 0.75,54.7
    2.5,23.7 4.0,11.55 0.75,61.3 2.5,17.7 4.0,8.74 0.75,59.2 2.5,16.3 4.0,8.62 0.5,81.0 6.0,4.87 3.0,14.62
    0.5,81.7 2.75,17.17 0.5,81.3 1.75,28.9
  `)
  test.each([[[0.1, 0.01, 0.02]], [[0.15, 0.008, 0.01]]])('Chwirut2 from %j', start => {
    const found = fitLeastSquares(
      problem(chwirut, (x, [a = 0, b = 0, c = 0]) => Math.exp(-a * x) / (b + c * x)),
      start,
    )
    expectCertified(found, {
      parameters: [
        [1.6657666537e-1, 3.830328681e-2],
        [5.1653291286e-3, 6.6621605126e-4],
        [1.2150007096e-2, 1.5304234767e-3],
      ],
      sumOfSquares: 5.1304802941e2,
      residualSd: 3.171713304,
      degreesOfFreedom: 51,
    })
  })

  const mgh = points(`
    4.0,0.1957 2.0,0.1947 1.0,0.1735 0.5,0.16 0.25,0.0844 0.167,0.0627 0.125,0.0456 0.1,0.0342 0.0833,0.0323
    0.0714,0.0235 0.0625,0.0246
  `)
  test.each([[[25, 39, 41.5, 39]], [[0.25, 0.39, 0.415, 0.39]]])('MGH09, of higher difficulty, from %j', start => {
    const found = fitLeastSquares(
      problem(mgh, (x, [a = 0, b = 0, c = 0, d = 0]) => (a * (x * x + x * b)) / (x * x + x * c + d)),
      start,
    )
    expectCertified(found, {
      parameters: [
        [1.9280693458e-1, 1.1435312227e-2],
        [1.9128232873e-1, 1.9633220911e-1],
        [1.2305650693e-1, 8.0842031232e-2],
        [1.3606233068e-1, 9.0025542308e-2],
      ],
      sumOfSquares: 3.0750560385e-4,
      residualSd: 6.6279236551e-3,
      degreesOfFreedom: 7,
    })
  })
})

describe('NIST, linear', () => {
  test('Norris', () => {
    const x = `
      0.2 337.4 118.2 884.6 10.1 226.5 666.3 996.3 448.6 777.0 558.2 0.4 0.6 775.5 666.9 338.0 447.5 11.6
      556.0 228.1 995.8 887.6 120.2 0.3 0.3 556.8 339.1 887.2 999.0 779.0 11.1 118.3 229.2 669.1 448.9 0.5
    `
    const y = `
      0.1 338.8 118.1 888.0 9.2 228.1 668.5 998.5 449.1 778.9 559.2 0.3 0.1 778.1 668.8 339.3 448.9 10.8
      557.7 228.3 998.0 888.8 119.6 0.3 0.6 557.6 339.3 888.0 998.5 778.9 10.2 117.6 228.9 668.4 449.2 0.2
    `
    const numbers = (text: string): number[] => text.trim().split(/\s+/).map(Number)
    const xs = numbers(x)
    const data = numbers(y).map((value, index): Point => [xs[index]!, value])
    expect(data).toHaveLength(36)
    const found = fitLeastSquares(
      problem(data, (at, [a = 0, b = 0]) => a + b * at),
      [0, 1],
    )
    expectCertified(
      found,
      {
        parameters: [
          [-0.262323073774029, 0.232818234301152],
          [1.00211681802045, 0.429796848199937e-3],
        ],
        sumOfSquares: 26.6173985294224,
        residualSd: 0.884796396144373,
        degreesOfFreedom: 34,
      },
      8,
    )
  })
})

describe('the GUM, H.3', () => {
  // JCGM 100:2008, table H.6: readings of a thermometer and their corrections; t0 = 20 °C.
  const readings = [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.01, 26.511]
  const corrections = [-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.16]
  const data = readings.map((t, index): Point => [t - 20, corrections[index]!])
  const found = fitLeastSquares(
    { ...problem(data, (t, [a = 0, b = 0]) => a + b * t), jacobian: () => data.map(([t]) => [1, t]) },
    [0, 0],
  )

  test('as printed: -0.1712(29), 0.00218(67), correlation -0.930, spread 0.0035', () => {
    expect(found.parameters[0]).toBeCloseTo(-0.1712, 4)
    expect(found.standardUncertainties[0]).toBeCloseTo(0.0029, 4)
    expect(found.parameters[1]).toBeCloseTo(0.00218, 5)
    expect(found.standardUncertainties[1]).toBeCloseTo(0.00067, 5)
    expect(found.correlation[0]![1]).toBeCloseTo(-0.93, 3)
    expect(found.residualSd).toBeCloseTo(0.0035, 4)
  })

  test('in full, recomputed', () => {
    expect(digits(found.parameters[0]!, -0.17120379013135)).toBeGreaterThan(9)
    expect(digits(found.standardUncertainties[0]!, 0.00287759783515996)).toBeGreaterThan(8)
    expect(digits(found.parameters[1]!, 0.0021826977398872)).toBeGreaterThan(9)
    expect(digits(found.standardUncertainties[1]!, 0.000667938773227833)).toBeGreaterThan(8)
    expect(digits(found.correlation[0]![1]!, -0.930429603093446)).toBeGreaterThan(8)
    expect(digits(found.sumOfSquares, 0.000110096583109297)).toBeGreaterThan(9)
  })

  test('the correction at 30 °C with its uncertainty, the correlation in it', () => {
    const [a = 0, b = 0] = found.parameters
    const [ua = 0, ub = 0] = found.standardUncertainties
    const at = 30 - 20
    expect(a + b * at).toBeCloseTo(-0.1494, 4)
    const u = Math.sqrt(ua ** 2 + (at * ub) ** 2 + 2 * at * ua * ub * found.correlation[0]![1]!)
    expect(u).toBeCloseTo(0.0041, 4)
    expect(digits(u, 0.00413859575285495)).toBeGreaterThan(7)
  })
})

describe('a robust regression', () => {
  // Brownlee's stack-loss data (K. A. Brownlee, Statistical Theory and Methodology, 1965), as they come with statsmodels.
  // Its model of linear regression with Student's t errors gives, with 4 degrees of freedom and all else by maximum
  // likelihood, the figures below (statsmodels 0.15.0, https://www.statsmodels.org). Anybody can have them from
  //
  //   from statsmodels.miscmodels.tmodel import TLinearModel
  //   data = statsmodels.datasets.stackloss.load_pandas()
  //   model = TLinearModel(data.endog.values, statsmodels.tools.add_constant(data.exog).values, fix_df=4)
  //   model.fit(method='bfgs', gtol=1e-9, maxiter=5000).params
  const rows = [
    [80, 27, 89, 42],
    [80, 27, 88, 37],
    [75, 25, 90, 37],
    [62, 24, 87, 28],
    [62, 22, 87, 18],
    [62, 23, 87, 18],
    [62, 24, 93, 19],
    [62, 24, 93, 20],
    [58, 23, 87, 15],
    [58, 18, 80, 14],
    [58, 18, 89, 14],
    [58, 17, 88, 13],
    [58, 18, 82, 11],
    [58, 19, 93, 12],
    [50, 18, 89, 8],
    [50, 18, 86, 7],
    [50, 19, 72, 8],
    [50, 19, 79, 8],
    [50, 20, 80, 9],
    [56, 20, 82, 15],
    [70, 20, 91, 15],
  ] as const

  test('has the likeliest values and scale of the stack losses', () => {
    // Priors so wide that they say nothing; what is known of them is subtracted from the objective below.
    const unknowns = [0, 0, 0, 0].map(mean => ({ mean, sd: 1e4 }))
    const at = (scale: number) => {
      const evidence = {
        size: rows.length,
        unknowns: [0, 1, 2, 3],
        residuals: (b: ArrayLike<number>, out: Float64Array): boolean => {
          rows.forEach(([air, water, acid, loss], row) => {
            out[row] = loss - b[0]! - b[1]! * air - b[2]! * water - b[3]! * acid
          })
          return true
        },
        covariance: (_: ArrayLike<number>, out: Float64Array): void => {
          out.fill(0)
          // The loss has a scale of its own, 0.9.
          for (let row = 0; row < rows.length; row++) out[row * rows.length + row] = (scale / 0.9) ** 2
        },
      }
      const { mode, objective } = posteriorOf(unknowns, [evidence], { steps: 0 })!
      return { mode, cost: objective + 2 * rows.length * Math.log(scale) }
    }
    let [low, high] = [1, 5]
    for (let round = 0; round < 80; round++) {
      const [a, b] = [low + (high - low) / 3, high - (high - low) / 3]
      if (at(a).cost < at(b).cost) high = b
      else low = a
    }
    const scale = (low + high) / 2
    const { mode } = at(scale)
    const published = [-40.06809266, 0.85709078, 0.74526881, -0.11512483]
    published.forEach((value, index) => {
      expect(digits(mode[index]!, value)).toBeGreaterThan(4)
    })
    expect(digits(scale, 2.02453393)).toBeGreaterThan(4)
    // The logarithm of the likelihood there: the density of Student's t with the terms that the loss leaves out.
    // Γ(5/2) = 3√π/4 and Γ(2) = 1.
    const constant = Math.log(3 / 8)
    expect(rows.length * constant - at(scale).cost / 2).toBeCloseTo(-51.42333744, 4)
  })
})
