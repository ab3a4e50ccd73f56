/** What could be tried on a bench: its ratios, the voltages of its board around what each takes, its loads. */
import {
  activeGroups,
  type Bench,
  benchOfGroup,
  type Corner,
  interpolateRows,
  isWork,
  type Load,
  partOfGroup,
  roundToStep,
  type SettledState,
  settleState,
  stepRatio,
  type WorkLoad,
} from '../../model/index.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import type { PartEvidence } from './evidence.ts'
import type { Candidate } from './next.ts'

/** A candidate with what is predicted for it. */
export interface BenchCandidate extends Candidate {
  readonly cores: number
  /** Predicted at the die, in V and °C. */
  readonly dieV: number
  readonly dieC: number
}

/** A ratio that cannot be run under a load: its limits come first. */
export interface Unreached {
  readonly ratio: number
  readonly load: string
}

export interface Candidates {
  /** The ratios of the profile's steps: those that should be known better. */
  readonly ratios: readonly number[]
  readonly candidates: readonly BenchCandidate[]
  readonly unreached: readonly Unreached[]
  /** The corner that trials are predicted in: the warmest. */
  readonly corner: Corner
}

/** How far from what a ratio is taken to need voltages are tried. */
const BELOW_V = 0.06
const ABOVE_V = 0.03
/** Where the board has no grid of its own. Engineering judgement, no source. */
const USUAL_STEP_V = 0.005

/** The ratios of the steps, rising, each once. */
function stepRatios({ part, profile }: Bench): readonly number[] {
  const found = new Set<number>()
  for (let cores = 1; cores <= part.cores; cores++) {
    const ratio = stepRatio(profile, cores)
    if (ratio !== undefined) found.add(ratio)
  }
  return [...found].sort((a, b) => a - b)
}

/** Each load that works, at the most cores that it has; of groups, each that keeps this one busy and no other. */
function workLoads(
  { input }: Evaluation,
  index: number | undefined,
): readonly { readonly name: string; readonly load: Load }[] {
  const most = new Map<string, Load>()
  const isAlone = (load: WorkLoad): boolean => {
    if (index === undefined || input.bench === undefined) return true
    const [busy, another] = activeGroups(input.bench.part, load)
    return busy?.index === index && another === undefined
  }
  for (const { name, load } of input.loads) if (isWork(load) && isAlone(load)) most.set(name, load)
  return [...most].map(([name, load]) => ({ name, load }))
}

/** The bench with one ratio and one voltage for everything, its limits as they are. */
function heldAt(bench: Bench, ratio: number, setV: number, index: number | undefined): Bench {
  const { part, profile } = bench
  const held = {
    steps: [{ fromCores: 1, toCores: part.cores, ratio }],
    bands: [],
    vectorDrop: 0,
    voltage: { kind: 'fixed', voltageV: setV },
  } as const
  if (index === undefined) return { ...bench, profile: { ...profile, ...held } }
  const groups = (profile.groups ?? []).map((own, at) => (at === index ? { ...own, ...held } : own))
  return { ...bench, profile: { ...profile, ...(index === 0 ? held : {}), groups } }
}

interface Point {
  readonly setV: number
  readonly comparableV: number
  readonly dieV: number
  readonly dieC: number
}

/** What a voltage comes to at a ratio under a load; undefined where limits do not let it run there. */
function pointAt(
  bench: Bench,
  load: Load,
  corner: Corner,
  ratio: number,
  setV: number,
  index: number | undefined,
): Point | undefined {
  const settled: SettledState | null = settleState(heldAt(bench, ratio, setV, index), load, corner)
  const notes = index === undefined ? settled?.notes : settled?.notes.groups?.[index]
  const [own] = notes?.voltages ?? []
  if (settled?.state !== 'steady' || own === undefined || Math.abs(own.ratio - ratio) > 1e-9) return undefined
  if (settled.dieC === null || settled.dieC >= bench.part.dieLimitC) return undefined
  const { needs } = partOfGroup(bench.part, index ?? 0)
  const beyondV = own.needV - interpolateRows(needs, ratio)
  return { setV, comparableV: own.voltageV - beyondV, dieV: own.voltageV, dieC: settled.dieC }
}

/** A figure of three points as a parabola through them. */
function through(points: readonly [Point, Point, Point], of: 'comparableV' | 'dieV' | 'dieC', setV: number): number {
  return points.reduce((sum, own, index) => {
    const share = points.reduce((product, other, at) => {
      return at === index ? product : (product * (setV - other.setV)) / (own.setV - other.setV)
    }, 1)
    return sum + share * own[of]
  }, 0)
}

/** Voltages of the board's grid between two of them, both within what is allowed for the part. */
function gridBetween(
  { board, part }: Bench,
  lowV: number,
  highV: number,
  range: Range | undefined,
  index: number | undefined,
): readonly number[] {
  const rail = index === undefined ? undefined : board.rails?.[part.groups?.[index]?.rail ?? '']
  const stepV = rail?.coreVoltageStepV ?? board.coreVoltageStepV ?? USUAL_STEP_V
  const found: number[] = []
  for (let at = Math.ceil(lowV / stepV - 1e-9); at * stepV <= highV + 1e-9; at++) {
    const setV = roundToStep(at * stepV, stepV)
    if (range === undefined || (setV >= range.lowV - 1e-9 && setV <= range.highV + 1e-9)) found.push(setV)
  }
  return found
}

interface Range {
  readonly lowV: number
  readonly highV: number
}

function atRatio(
  bench: Bench,
  load: Load,
  name: string,
  corner: Corner,
  ratio: number,
  takesV: number,
  range: Range | undefined,
  index: number | undefined,
): readonly BenchCandidate[] | undefined {
  const highest = range?.highV ?? Number.POSITIVE_INFINITY
  const at = (setV: number): Point | undefined => pointAt(bench, load, corner, ratio, setV, index)
  const first = at(Math.min(takesV, highest))
  // The load line and the temperature take some of it: the middle is where the die has what the ratio is taken to need.
  const middleV = Math.min(first === undefined ? takesV : 2 * takesV - first.comparableV, highest)
  const lowV = middleV - BELOW_V
  const low = at(lowV)
  let highV = Math.min(middleV + ABOVE_V, highest + ABOVE_V / 10)
  let high = at(highV)
  // Where more voltage meets a limit, less may run.
  while (high === undefined && highV - 2 * USUAL_STEP_V > lowV) {
    highV -= USUAL_STEP_V
    high = at(highV)
  }
  const middle = at(middleV < highV ? middleV : (lowV + highV) / 2)
  if (low === undefined || middle === undefined || high === undefined) return undefined
  const three = [low, middle, high] as const
  return gridBetween(bench, low.setV, Math.min(high.setV, highest), range, index).map(setV => ({
    ratio,
    load: name,
    cores: isWork(load) ? load.cores : 0,
    setV,
    comparableV: through(three, 'comparableV', setV),
    dieV: through(three, 'dieV', setV),
    dieC: through(three, 'dieC', setV),
  }))
}

/**
 * The trials that a profile's bench could run: the ratios of its steps and one above, under each load at the most cores
 * that it has, with set voltages from 60 mV below to 30 mV above what the ratio is taken to need, none beyond what is
 * allowed for the part, and none where a limit would give ratio back. Undefined where nothing can be predicted.
 * @param range the core voltages that are allowed for the part, or on the group's rail
 * @param index of the group, where cores are of several kinds
 */
export function candidatesOf(
  evaluation: Evaluation,
  evidence: PartEvidence,
  range: Range | undefined,
  index?: number,
): Candidates | undefined {
  const { bench, corners } = evaluation.input
  const [coolest, ...others] = corners
  if (bench === undefined || coolest === undefined || bench.part.needs.length === 0) return undefined
  const corner = others.reduce((warmest, one) => (one.airC >= warmest.airC ? one : warmest), coolest)
  const own = index === undefined ? bench : benchOfGroup(bench, index)
  const ratios = stepRatios(own)
  const above = (ratios.at(-1) ?? 0) + bench.part.ratioStep
  const unreached: Unreached[] = []
  const candidates: BenchCandidate[] = []
  for (const { name, load } of workLoads(evaluation, index)) {
    for (const ratio of above <= own.part.ratioHigh + 1e-9 ? [...ratios, above] : ratios) {
      const found = atRatio(bench, load, name, corner, ratio, evidence.ledger.at(ratio).proofV, range, index)
      if (found === undefined) unreached.push({ ratio, load: name })
      else candidates.push(...found)
    }
  }
  return { ratios, candidates, unreached, corner }
}
