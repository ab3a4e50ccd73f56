/** Predictions as the features ask for them. */

import { evaluations } from '../checks/run.ts'
import { coresOf, isWork } from '../model/index.ts'
import type { Corner, Settled } from '../model/types.ts'
import type { Definition } from '../semantic/definitions.ts'
import { type Evaluation, evaluate } from '../semantic/evaluate.ts'
import type { LoadCase } from '../semantic/load-cases.ts'
import type { Prediction } from '../semantic/predict.ts'
import type { FileView, Workspace } from '../workspace/workspace.ts'

/** The evaluation of a profile that the view's own file defines; undefined for another kind of definition. */
export function evaluationOf(view: FileView, definition: Definition | undefined): Evaluation | undefined {
  return definition?.kind === 'profile' ? evaluate(view.scope, definition) : undefined
}

/** The profiles of the file, then those of the loaded files that use it. */
export function profilesSeeing(workspace: Workspace, view: FileView): readonly Evaluation[] {
  const users = workspace.usersOf(view.document.uri).flatMap(uri => workspace.view(uri) ?? [])
  return [view, ...users].flatMap(evaluations)
}

/** Those of the profiles that rest on a definition. */
export function profilesOn(workspace: Workspace, view: FileView, definition: Definition): readonly Evaluation[] {
  return profilesSeeing(workspace, view).filter(({ profile }) => {
    const { part, cooler, room, board, loads, courses, chain } = profile
    return [part, cooler, room, board, ...loads, ...courses, ...chain.slice(1)].includes(definition)
  })
}

/** Active cores of a load case; 0 for `idle` and `off`. */
export function activeCores({ load }: LoadCase): number {
  return coresOf(load)
}

/** A load at one count, as the predictions have it: `render (12 cores)`. */
export interface LoadAtCount {
  readonly name: string
  readonly cores: number
  readonly vector: boolean
  /** Seen as one group of cores: what the others do, where that tells two of them apart. */
  readonly beside?: string
}

/**
 * The declared loads with the lowest and the highest of those core counts that the test accepts. Seen as one group of cores,
 * several mixes may have such a count: of the lowest it is the first, of the highest the last, in the order of the loads'
 * cases; others, worse ones among them, are left out.
 */
export function loadsWithin(evaluation: Evaluation, accepts: (cores: number) => boolean): readonly LoadAtCount[] {
  const byName = new Map<string, LoadAtCount[]>()
  for (const { name, load, beside } of evaluation.input.loads) {
    if (!isWork(load) || !accepts(load.cores)) continue
    const known = byName.get(name) ?? []
    known.push({ name, cores: load.cores, vector: load.vector, ...(beside !== undefined && { beside }) })
    byName.set(name, known)
  }
  return [...byName.values()].flatMap(found => {
    found.sort((a, b) => a.cores - b.cores)
    const ends = [found[0], found.at(-1)] as [LoadAtCount, LoadAtCount]
    return ends[0] === ends[1] ? [ends[0]] : ends
  })
}

/** Every load at its lowest and highest core count, the built-in ones at the end. */
export function everyLoadAtEnds(evaluation: Evaluation): readonly LoadAtCount[] {
  const builtIn = evaluation.input.loads.filter(({ load }) => !isWork(load))
  return [...loadsWithin(evaluation, () => true), ...builtIn.map(({ name }) => ({ name, cores: 0, vector: false }))]
}

/** Every load at its highest core count, the built-in ones among them. */
export function everyLoadAtMost(evaluation: Evaluation): readonly { readonly name: string; readonly cores: number }[] {
  const most = new Map<string, number>()
  for (const one of evaluation.input.loads) most.set(one.name, Math.max(most.get(one.name) ?? 0, activeCores(one)))
  return [...most].map(([name, cores]) => ({ name, cores }))
}

/** The room's coolest and driest corner and its warmest and most humid one; once where they are the same. */
export function outerCorners(evaluation: Evaluation): readonly Corner[] {
  const { corners } = evaluation.input
  const first = corners[0]
  const last = corners.at(-1)
  if (first === undefined || last === undefined) return []
  return first === last ? [first] : [first, last]
}

/** The room's corners between those: the ones a table of the outer corners leaves out. */
export function innerCorners(evaluation: Evaluation): readonly Corner[] {
  const outer = outerCorners(evaluation)
  return evaluation.input.corners.filter(corner => !outer.includes(corner))
}

/** The predictions of a load at a count, in every corner. @param beside what other groups do, where the load says it */
export function predictionsOf(
  evaluation: Evaluation,
  { name, cores, beside }: Omit<LoadAtCount, 'vector'>,
): readonly Prediction[] {
  return evaluation.predictions.filter(
    ({ load }) => load.name === name && activeCores(load) === cores && load.beside === beside,
  )
}

export function settledAt(
  evaluation: Evaluation,
  load: Omit<LoadAtCount, 'vector'>,
  corner: Corner,
): Settled | undefined {
  const found = predictionsOf(evaluation, load)
  return found.find(one => one.corner.airC === corner.airC && one.corner.humidityPct === corner.humidityPct)?.settled
}

/** The prediction with the largest figure; those in which it does not exist do not count. */
export function highest(
  predictions: readonly Prediction[],
  figure: (settled: Settled) => number | null,
): { readonly prediction: Prediction; readonly value: number } | undefined {
  let best: { prediction: Prediction; value: number } | undefined
  for (const prediction of predictions) {
    const value = figure(prediction.settled)
    if (value !== null && (best === undefined || value > best.value)) best = { prediction, value }
  }
  return best
}
