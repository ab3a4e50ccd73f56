/** The cases that a plan is judged by: declared loads at their counts, and a load of full activity at each count. */
import { type Bench, type Corner, isWork, type Load, wetPointC } from '../../model/index.ts'
import type { Case } from '../../planning/index.ts'
import { isSameWork, loadConstants, type WorkKind } from '../../semantic/constants.ts'
import { distinctCorners } from '../../semantic/corners.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'

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
export interface BenchCase extends Case {
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
