/**
 * A whole log as evidence: from rest through the warm-up, settled or not (model section 10 without its controller).
 *
 * Its residuals are correlated by what all readings of a log share: the first state, the air, the error of each sensor,
 * what this sitting has of its own. Readings in a row are correlated as their own residuals say.
 */

import { hotSideAt } from '../../model/cooler/thermoelectric/over-time.ts'
import { emptyFlows, stackOf } from '../../model/cooler/thermoelectric/stack.ts'
import { finished } from '../../model/slices.ts'
import type { Cooler, Part } from '../../model/types.ts'
import { drivenPlate } from '../../semantic/coolers/index.ts'
import { solveLower, solveUpper } from '../statistics/cholesky.ts'
import type { Slices } from '../statistics/independent.ts'
import type { Block } from './blocks.ts'
import { type Course, createCourse } from './course.ts'
import type { DrivenBy } from './drive.ts'
import { firstNoises, type Noises, noiseCovariance } from './log-noise.ts'
import {
  type ErrorsAt,
  errorsAt,
  type Level,
  type LogPoint,
  levels,
  type SharedError,
  sharedErrors,
} from './log-point.ts'
import { type Asked, logRows, type Row } from './log-rows.ts'
import type { BenchAt } from './seen-point.ts'
import { type SittingEvidence, UNKNOWN_DIE_C } from './sitting.ts'
import { supplyVoltage } from './stages.ts'

export interface LogEvidence extends SittingEvidence {
  readonly point: LogPoint
  readonly asked: Asked
  readonly cooler: Cooler
  readonly blocks: readonly Block[]
  readonly rows: readonly Row[]
  readonly errors: readonly SharedError[]
  /** The errors at the values that they were last given. */
  readonly errorsAt: ErrorsAt
  readonly benchAt: (at: ArrayLike<number>) => BenchAt
  readonly warming?: number | undefined
  /** The course as it was followed last. */
  readonly course: Course
  /** Residuals with each shared error at so many of its standard deviations. @param by `measured` without it */
  residualsWith(at: ArrayLike<number>, errors: ArrayLike<number>, out: Float64Array, by?: DrivenBy): boolean
  /** Derivatives of the residuals over the shared errors, one row for each residual. */
  sharedBy(at: ArrayLike<number>): Float64Array
  noises: Noises
}

/**
 * A part has more heat capacities than the model, and the power within a block is not even: this share of a temperature's
 * change within its block is beyond the model. Engineering judgement.
 */
const UNEVEN_SHARE = 0.02
const DIFFERENCE = 0.25

/** Blocks other than the log's own: for each point, or further than it goes. */
export interface OtherBlocks {
  readonly blocks: readonly Block[]
  readonly isFine: boolean
}

/** Where a log was logged: its bench at some values of the unknowns, and the unknowns that it depends on. */
export interface LogBench {
  readonly cooler: Cooler
  readonly benchAt: (at: ArrayLike<number>) => BenchAt
  readonly unknowns: readonly number[]
  /** Index of the unknown by which the room warms over each log; without it a log has its own warming alone. */
  readonly warming?: number | undefined
}

/** What can be asked of a log. */
export function logEvidence(
  point: LogPoint,
  { cooler, benchAt, unknowns: constants, warming }: LogBench,
  asked: Asked = 'all',
  { blocks, isFine }: OtherBlocks = { blocks: point.blocks.blocks, isFine: false },
): LogEvidence {
  const { rows, simulations, seen } = logRows(point, cooler, blocks, isFine, asked)
  const size = rows.length
  const unknowns = warming === undefined || constants.includes(warming) ? constants : [...constants, warming]
  const episodes = Math.max(-1, ...blocks.map(({ episode }) => episode)) + 1
  const errors = sharedErrors(point, seen, episodes)
  const shared = errors.length
  const own = errorsAt(errors)
  const course = createCourse(point, blocks, simulations, isFine)
  const none = new Float64Array(shared)
  const scratch = new Float64Array(size)
  /** The shared errors about which residuals are reckoned, and what those come to in each residual where they were found. */
  const centre = new Float64Array(shared)
  const shift = new Float64Array(size)
  /** What the noise of the drive adds to each residual, where the covariance was found last; see drive.ts. */
  const noisy = new Float64Array(size)
  let drivenBy: DrivenBy = 'measured'
  const smooth = new Float64Array(size)
  const modules = emptyFlows()

  const readings = Float64Array.from(
    rows,
    ({ level, first }) => blocks[first]?.means[levels[level] as Level] ?? Number.NaN,
  )
  const temperatureRow = ({ level, end, first }: Row, read: number): number => {
    let expected = (course.expected[level] as Float64Array)[first] as number
    // A sensor that lags reads what was before.
    expected -= own.at('time', level) * ((course.slopes[level] as Float64Array)[first] as number)
    for (let stage = level; stage < end; stage++) expected += own.at('stage', stage)
    return read - own.at('sensor', level) - expected
  }
  const powerRow = (part: Part, { first, last, weights }: Row): number => {
    let sum = -own.of('law')
    for (let index = first; index <= last; index++) {
      let lawW = course.lawW[index] as number
      if (Number.isNaN(lawW)) {
        course.askLaw(part, blocks[index] as Block, dieOf(index), own)
        lawW = course.law.powerW
      }
      sum += (weights[index - first] as number) * Math.log((course.powerW[index] as number) / lawW)
    }
    return sum
  }
  /** Where the die was not read it stands over the plate as the stages say; nothing follows it over time. */
  const dieOf = (index: number): number => (course.expected[0] as Float64Array)[index] || UNKNOWN_DIE_C

  const driveRow = ({ cooler: at = cooler }: BenchAt, { first, last, weights }: Row): number => {
    const plate = drivenPlate(at)
    if (plate === undefined) return Number.NaN
    const airC = point.air.value
    const stack = stackOf(plate, airC)
    let sum = -own.of('drive-voltage')
    for (let index = first; index <= last; index++) {
      const { means } = blocks[index] as Block
      const currentA = (means.drive as number) * (1 + own.of('drive'))
      const coldK = (means.plate as number) - own.at('sensor', 1) - airC
      const coolantK = (means.coolant as number) - own.at('sensor', 2) - airC
      const hotK = hotSideAt(stack, { kind: 'constant', currentA }, coldK, coolantK, coolantK, modules)
      const expectedV = supplyVoltage(plate, modules, currentA, hotK - coldK)
      sum += (weights[index - first] as number) * Math.log((means['drive-voltage'] as number) / expectedV)
    }
    return sum
  }

  const residualsWith = (
    at: ArrayLike<number>,
    values: ArrayLike<number>,
    out: Float64Array,
    by: DrivenBy = 'measured',
  ): boolean => {
    const bench = benchAt(at)
    own.set(values)
    if (!course.follow(bench.part, bench.cooler ?? cooler, own, warming === undefined ? 0 : at[warming], by))
      return false
    for (let index = 0; index < size; index++) {
      const row = rows[index] as Row
      out[index] =
        row.sensor === 'power'
          ? powerRow(bench.part, row)
          : row.sensor === 'drive-voltage'
            ? driveRow(bench, row)
            : temperatureRow(row, readings[index] as number)
      if (!Number.isFinite(out[index])) return false
    }
    return true
  }

  /** Kept until the values change; when only a scatter changes, only its columns are found again. */
  let prepared: { readonly at: Float64Array; readonly shape: Float64Array; isScatterOld: boolean } | undefined
  const isScattered = errors.map(({ of }) => of === 'law' || of === 'stage')
  const sharedBy = (at: ArrayLike<number>): Float64Array => finished(sharedInSlices(at))

  function* sharedInSlices(at: ArrayLike<number>): Slices<Float64Array> {
    const isSame = prepared?.at.every((value, index) => value === at[index]) === true
    const before = isSame ? prepared : undefined
    if (before?.isScatterOld === false) return before.shape
    const found = before === undefined ? new Float64Array(size * shared) : Float64Array.from(before.shape)
    const values = new Float64Array(shared)
    const [above, below] = [new Float64Array(size), new Float64Array(size)]
    for (let index = 0; index < shared; index++) {
      if (before !== undefined && !isScattered[index]) continue
      for (let row = 0; row < size; row++) found[row * shared + index] = 0
      values[index] = DIFFERENCE
      const isAbove = residualsWith(at, values, above, 'smooth')
      values[index] = -DIFFERENCE
      const isBelow = residualsWith(at, values, below, 'smooth')
      values[index] = 0
      yield
      if (!isAbove || !isBelow) continue
      for (let row = 0; row < size; row++)
        found[row * shared + index] = ((above[row] as number) - (below[row] as number)) / (2 * DIFFERENCE)
    }
    prepared = { at: Float64Array.from(at), shape: found, isScatterOld: false }
    return found
  }

  let bare: { readonly noises: Noises; readonly covariance: Float64Array } | undefined
  /** The covariance by the noise alone, which no constant moves. */
  const noisePart = (): Float64Array => {
    if (bare?.noises !== evidence.noises) {
      bare = { noises: evidence.noises, covariance: new Float64Array(size * size) }
      noiseCovariance(rows, blocks, evidence.noises, bare.covariance)
    }
    return bare.covariance
  }

  const evidence: LogEvidence = {
    isSlow: true,
    point,
    asked,
    cooler,
    warming,
    blocks,
    rows,
    errors,
    errorsAt: own,
    benchAt,
    course,
    size,
    unknowns,
    residualsWith,
    sharedBy,
    noises: firstNoises(point),
    hasLaw: rows.some(({ sensor }) => sensor === 'power'),
    hasStage: rows.some(({ level }) => level >= 0),
    scatterBy: scatter => {
      own.scatterBy(scatter)
      if (prepared !== undefined) prepared.isScatterOld = true
      centre.fill(0)
      shift.fill(0)
    },
    centreAt: (at, l) => {
      if (!residualsWith(at, none, scratch)) return
      const shape = sharedBy(at)
      if (!residualsWith(at, none, smooth, 'smooth')) return
      centre.set(likeliestOf(shape, scratch, l, shared))
      drivenBy = 'smooth'
      for (let row = 0; row < size; row++) {
        noisy[row] = (scratch[row] as number) - (smooth[row] as number)
        let sum = 0
        for (let k = 0; k < shared; k++) sum += (shape[row * shared + k] as number) * (centre[k] as number)
        shift[row] = sum
      }
    },
    prepare: function* (at) {
      yield* sharedInSlices(at)
    },
    residuals: (at, out) => {
      if (!residualsWith(at, centre, out, drivenBy)) return false
      for (let row = 0; row < size; row++)
        out[row] = (out[row] as number) - (shift[row] as number) + (noisy[row] as number)
      return true
    },
    covariance: (at, out) => {
      out.set(noisePart())
      const shape = sharedBy(at)
      for (let i = 0; i < size; i++)
        for (let j = 0; j <= i; j++) {
          let sum = out[i * size + j] as number
          for (let k = 0; k < shared; k++) sum += (shape[i * shared + k] as number) * (shape[j * shared + k] as number)
          out[i * size + j] = out[j * size + i] = sum
        }
      if (!residualsWith(at, none, scratch, 'smooth')) return
      rows.forEach((row, index) => {
        addUneven(out, size, index, passedBy(row))
      })
    },
  }
  return evidence

  /** By how much a temperature changes within its block. */
  function passedBy({ level, first }: Row): number {
    if (level < 0) return 0
    const { fromS, toS } = blocks[first] as Block
    return ((course.slopes[level] as Float64Array)[first] as number) * (toS - fromS)
  }
}

/** The likeliest shared errors in their standard deviations, −Bᵀ S⁻¹ r. @param l lower factor of S */
export function likeliestOf(by: Float64Array, residuals: Float64Array, l: Float64Array, shared: number): Float64Array {
  const size = residuals.length
  const solved = Float64Array.from(residuals)
  solveLower(l, size, solved)
  solveUpper(l, size, solved)
  const values = new Float64Array(shared)
  for (let k = 0; k < shared; k++)
    for (let row = 0; row < size; row++)
      values[k] = (values[k] as number) - (by[row * shared + k] as number) * (solved[row] as number)
  return values
}

function addUneven(out: Float64Array, size: number, index: number, passedK: number): void {
  const at = index * size + index
  out[at] = (out[at] as number) + (UNEVEN_SHARE * passedK) ** 2
}
