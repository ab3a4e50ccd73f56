/** The cases that a plan is judged by: declared loads at their counts, and a load of full activity at each count. */
import { type Bench, type Corner, groupLoads, isWork, type Load, wetPointC } from '../../model/index.ts'
import type { MixedCase } from '../../planning/index.ts'
import { isSameWork, type LoadConstants, loadConstants, type WorkKind } from '../../semantic/constants.ts'
import { distinctCorners } from '../../semantic/corners.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import { loadAt } from '../../semantic/load-cases.ts'

type WorkLoad = Extract<Load, { kind: 'work' }>

/** What a load of full activity is called. */
export const fullActivity = 'full activity'

/** A corner, and the corners of the same air that settle alike. */
export interface Air {
  readonly corner: Corner
  /** Wet points of all of them; humidities in their order. */
  readonly wetC: readonly number[]
  readonly humidityPct: readonly number[]
}

/** A load at a count in the air of one or more corners. */
export interface BenchCase extends MixedCase {
  readonly name: string
  readonly load: WorkLoad
  readonly air: Air
  /** `whole`: judged by all; `checked`: by what the checks would find alone, as a load at a count it does not declare. */
  readonly judged: 'whole' | 'checked'
}

export interface Cases {
  readonly airs: readonly Air[]
  at(cores: number): readonly BenchCase[]
  /** What the checks look at as well: each kind of load at the counts that none of it declares. */
  beyond(cores: number): readonly BenchCase[]
}

/** Corners that differ in humidity alone are one where the drive does not mind it; the coolest air first. */
function airsOf(bench: Bench, corners: readonly Corner[]): readonly Air[] {
  const airs = distinctCorners(bench, corners).map(({ corner, alike }) => ({
    corner,
    wetC: alike.map(({ airC, humidityPct }) => wetPointC(airC, humidityPct)),
    humidityPct: alike.map(({ humidityPct }) => humidityPct),
  }))
  return airs.sort((a, b) => a.corner.airC - b.corner.airC || a.corner.humidityPct - b.corner.humidityPct)
}

export interface CaseOptions {
  /** By the name of a load; 1 for those that are not there. */
  readonly weights: ReadonlyMap<string, number>
  readonly yields: ReadonlySet<string>
}

/** The counts of a part with groups that are looked at: each count of a group with the others idle, and with them full. */
function fullPoints(groups: NonNullable<Bench['part']['groups']>): readonly (readonly number[])[] {
  const found = new Map<string, readonly number[]>()
  for (const [at, { cores }] of groups.entries()) {
    for (let count = 1; count <= cores; count++) {
      for (const isFull of [false, true]) {
        const point = groups.map((other, index) => (index === at ? count : isFull ? other.cores : 0))
        found.set(point.join(' '), point)
      }
    }
  }
  return [...found.values()]
}

export interface GroupCases {
  readonly cases: readonly BenchCase[]
  /** Each kind of load at mixes of counts where rows of groups begin and end, and with one group alone. */
  beyond(ends: readonly (readonly number[])[]): readonly BenchCase[]
}

/** The cases of a part with groups: declared loads, and a load of full activity at the counts above. */
export function groupCasesOf({ profile, input }: Evaluation, bench: Bench, options: CaseOptions): GroupCases {
  const groups = bench.part.groups ?? []
  const airs = airsOf(bench, input.corners)
  const corners = airs.reduce((sum, { wetC }) => sum + wetC.length, 0)
  const of = (name: string, load: WorkLoad, counts: readonly number[], rest: Partial<BenchCase>): BenchCase[] =>
    airs.map((air, corner) => ({
      cores: load.cores,
      counts,
      corner,
      name,
      load,
      air,
      yields: false,
      standsIn: false,
      judged: 'whole',
      ...rest,
      weight: ((rest.weight ?? 0) * air.wetC.length) / corners,
      weightElse: ((rest.weightElse ?? 0) * air.wetC.length) / corners,
    }))
  const declared = input.loads.flatMap(({ name, load }) => (isWork(load) ? [{ name, load }] : []))
  const countsOf = (name: string): number => declared.filter(one => one.name === name).length
  const own = declared.flatMap(({ name, load }) =>
    of(
      name,
      load,
      groupLoads(bench.part, load).map(({ cores }) => cores),
      { weight: (options.weights.get(name) ?? 1) / countsOf(name), yields: options.yields.has(name) },
    ),
  )
  const kinds = profile.loads.flatMap(load => {
    const { value } = loadConstants(load)
    return value === undefined ? [] : [{ name: load.name, value }]
  })
  const vector = kinds.some(({ value }) => value.work.vector)
  const full = fullPoints(groups).flatMap(point => {
    const cores = total(point)
    const loads = point.map(count => ({ cores: count, activity: 1 }))
    const load: WorkLoad = { kind: 'work', cores, activity: 1, vector, groups: loads }
    const isAlone = point.filter(count => count > 0).length === 1
    return of(fullActivity, load, point, { weightElse: isAlone ? 1 : 0, yields: true, standsIn: isAlone })
  })
  /** By load and counts, so that what was settled of one is found again. */
  const made = new Map<string, readonly BenchCase[]>()
  const known = new Set(own.map(({ name, counts }) => `${name} ${counts.join(' ')}`))
  const at = (name: string, value: LoadConstants, point: readonly number[]): readonly BenchCase[] => {
    const key = `${name} ${point.join(' ')}`
    if (known.has(key)) return []
    const load = loadAt(bench.part, value, point)
    const found = made.get(key) ?? (isWork(load) ? of(name, load, point, { yields: true, judged: 'checked' }) : [])
    made.set(key, found)
    return found
  }
  return {
    cases: [...own, ...full],
    beyond: ends => {
      const points = new Map(fullPoints(groups).map(point => [point.join(' '), point]))
      let mixes: readonly (readonly number[])[] = [[]]
      for (const own of ends) mixes = mixes.flatMap(mix => [0, ...own].map(count => [...mix, count]))
      for (const mix of mixes) if (total(mix) > 0) points.set(mix.join(' '), mix)
      return [...points.values()].flatMap(point => kinds.flatMap(({ name, value }) => at(name, value, point)))
    },
  }
}

const total = (point: readonly number[]): number => point.reduce((sum, count) => sum + count, 0)

function kindsOf(works: readonly WorkKind[]): readonly WorkKind[] {
  return works.filter((work, index) => works.findIndex(other => isSameWork(work, other)) === index)
}

export function casesOf({ profile, input }: Evaluation, bench: Bench, options: CaseOptions): Cases {
  const airs = airsOf(bench, input.corners)
  const { cores } = bench.part
  const corners = airs.reduce((sum, { wetC }) => sum + wetC.length, 0)
  const declared = input.loads.flatMap(({ name, load }) => (isWork(load) ? [{ name, load }] : []))
  const countsOf = (name: string): number => declared.filter(one => one.name === name).length
  const works = profile.loads.flatMap(load => loadConstants(load).value?.work ?? [])
  const full: WorkKind = { activity: 1, vector: works.some(({ vector }) => vector), uneven: 1 }
  const byCount: BenchCase[][] = []
  const beyond: BenchCase[][] = []
  for (let count = 1; count <= cores; count++) {
    const loads = declared.filter(({ load }) => load.cores === count)
    const of = (name: string, load: WorkLoad, rest: Partial<BenchCase>): BenchCase[] =>
      airs.map((air, corner) => ({
        cores: count,
        counts: [count],
        corner,
        name,
        load,
        air,
        weight: 0,
        weightElse: 0,
        yields: false,
        standsIn: false,
        judged: 'whole',
        ...rest,
        ...(rest.weight === undefined ? {} : { weight: (rest.weight * air.wetC.length) / corners }),
        ...(rest.weightElse === undefined ? {} : { weightElse: (rest.weightElse * air.wetC.length) / corners }),
      }))
    byCount[count] = [
      ...loads.flatMap(({ name, load }) =>
        of(name, load, {
          weight: (options.weights.get(name) ?? 1) / countsOf(name),
          yields: options.yields.has(name),
        }),
      ),
      ...of(fullActivity, { kind: 'work', cores: count, ...full }, { weightElse: 1, yields: true, standsIn: true }),
    ]
    const known = [full, ...loads.map(({ load }) => ({ uneven: 1, ...load }))]
    const others = kindsOf(works).filter(work => !known.some(one => isSameWork(one, work)))
    beyond[count] = others.flatMap(work => {
      const name = profile.loads.find(load => {
        const own = loadConstants(load).value?.work
        return own !== undefined && isSameWork(own, work)
      })?.name
      return of(name ?? fullActivity, { kind: 'work', cores: count, ...work }, { yields: true, judged: 'checked' })
    })
  }
  return { airs, at: count => byCount[count] ?? [], beyond: count => beyond[count] ?? [] }
}
