/** Pictures of a profile and of runs: what panel, hover, report and `detent draw` show. */

import type { PartEvidence } from '../../bench/evidence/evidence.ts'
import type { ComparedRun } from '../../bench/run/compared.ts'
import { drawClocks } from '../../charts/clocks.ts'
import { drawCooling } from '../../charts/cooling.ts'
import { drawCourse } from '../../charts/course.ts'
import { drawMap, mapRangeC } from '../../charts/map.ts'
import type { Picture, PictureOptions } from '../../charts/picture.ts'
import { finished } from '../../model/index.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import type { Prediction } from '../../semantic/predict.ts'
import type { Workspace } from '../../workspace/workspace.ts'
import type { CourseProgress } from '../courses.ts'
import type { TrialProposal } from '../evidence/next-trial.ts'
import type { Series } from '../series.ts'
import { clocksData } from './clocks-view.ts'
import { coolingData } from './cooling-view.ts'
import { loadCourse, runCourse, seriesCourse } from './course-view.ts'
import { drawLedgers } from './ledger-view.ts'
import { mapData } from './map-view.ts'
import { casesOf, fullActivity, isBusy, type Scene, sceneOf, type WhatIf, worstOf } from './scene.ts'
import { courseRunData, wholeCourseInSlices } from './whole-course.ts'

export { csvText, type Picture, type PictureOptions } from '../../charts/picture.ts'
export { chartStyle, svgElement, svgFile } from '../../charts/style.ts'
export {
  type AskedView,
  type BesideMap,
  homeOf,
  type ShownView,
  type Subject,
  subjectAt,
  type ViewKind,
  viewInSlices,
} from './at-cursor.ts'
export { hoverPicture } from './hover-picture.ts'
export { whyNotDrawn } from './scene.ts'
export { whatIfEdits } from './what-if-edit.ts'

/** A profile and the workspace that it stands in. */
export interface Drawable {
  readonly workspace: Workspace
  readonly evaluation: Evaluation
}

export interface ViewOptions {
  readonly size: PictureOptions
  /** A declared load; full activity without one. */
  readonly load?: string | undefined
  readonly whatIf?: WhatIf | undefined
  readonly against?: (Drawable & { readonly label: string }) | undefined
  /** How long a course is followed. */
  readonly overS?: number | undefined
}

function sceneFor({ workspace, evaluation }: Drawable, whatIf?: WhatIf): Scene | undefined {
  return sceneOf(workspace, evaluation, whatIf)
}

/** How long a load is followed from idle where nobody says. */
const usualCourseS = 15 * 60

/** The operating map of a profile; undefined where nothing is predicted for it. */
export function drawnMap(drawn: Drawable, { size, load, whatIf, against }: ViewOptions): Picture | undefined {
  const scene = sceneFor(drawn, whatIf)
  const other = against && sceneFor(against, whatIf)
  const data = scene && mapData(scene, { load, against: other && { label: against.label, scene: other } })
  return data && drawMap(data, size)
}

/** The cooling chart of a load at its most cores, in the corner where its margin is least. */
export function drawnCooling(drawn: Drawable, { size, load, whatIf }: ViewOptions): Picture | undefined {
  const scene = sceneFor(drawn, whatIf)
  const worst = scene && worstOf(casesOf(scene, load))
  return worst && drawCooling(coolingData(scene, worst), size)
}

/** The course of a load from an idle bench, in the corner where its margin is least. */
export function drawnCourse(
  drawn: Drawable,
  { size, load, whatIf, overS = usualCourseS }: ViewOptions,
): Picture | undefined {
  const scene = sceneFor(drawn, whatIf)
  const worst = scene && worstOf(casesOf(scene, load).filter(isBusy))
  const data = worst && loadCourse(scene, worst, { overS })
  return data && drawCourse(data, size)
}

/**
 * A course that the profile sees, in the corner where it goes worst; or why there is no picture.
 * @param name of a course that the profile's file sees
 */
export function drawnWholeCourse(
  drawn: Drawable,
  name: string,
  { size, whatIf }: ViewOptions,
  tell?: (progress: CourseProgress) => void,
): Picture | string {
  const scene = sceneFor(drawn, whatIf)
  const definition = drawn.evaluation.profile.courses.find(one => one.name === name)
  if (scene === undefined || definition === undefined) return `no course is called ${name}`
  const data = finished(wholeCourseInSlices(scene, definition, tell))
  return typeof data === 'string' ? data : drawCourse(data, size)
}

/** A run's log over its prediction; undefined where there is no log to draw. */
export function drawnRun(workspace: Workspace, run: ComparedRun, size: PictureOptions): Picture | undefined {
  const evaluation = run.predicted?.evaluation
  const scene = evaluation && sceneFor({ workspace, evaluation })
  const isCourse = run.predicted?.ofCourse !== undefined
  const data = scene && (isCourse ? courseRunData(scene, run) : runCourse(scene, run))
  return data && drawCourse(data, size)
}

/** What trials show of the part that profiles share, and what they give it; undefined where the part states no needs. */
export function drawnLedger(
  drawn: readonly Drawable[],
  evidence: PartEvidence | undefined,
  size: PictureOptions,
  proposals?: readonly TrialProposal[],
): Picture | undefined {
  const [first, ...others] = drawn.flatMap(one => sceneFor(one) ?? [])
  const part = first?.evaluation.profile.part
  return first && part && drawLedgers({ scenes: [first, ...others], part, evidence, proposals }, size)
}

/** The maps of some profiles at one scale of temperature. */
export function drawnMaps(drawn: readonly Drawable[], size: PictureOptions): readonly Picture[] {
  const maps = drawn.flatMap(one => {
    const scene = sceneFor(one)
    return (scene && mapData(scene)) ?? []
  })
  const ranges = maps.map(mapRangeC)
  const rangeC = [Math.min(...ranges.map(([low]) => low)), Math.max(...ranges.map(([, high]) => high))] as const
  return maps.map((map, index) => drawMap({ ...map, rangeC }, { ...size, id: `map-${index}` }))
}

/** Clock by active cores of some profiles in one plot; undefined where nothing settles. */
export function drawnClocks(drawn: readonly Drawable[], size: PictureOptions): Picture | undefined {
  const data = clocksData(drawn.flatMap(one => sceneFor(one) ?? []))
  return data.lines.some(({ points }) => points.length > 0) ? drawClocks(data, size) : undefined
}

/** A course that was followed before. */
export function drawnSeries(
  { workspace, evaluation }: Drawable,
  { load, corner, settled }: Prediction,
  series: Series,
  size: PictureOptions,
): Picture | undefined {
  const scene = sceneFor({ workspace, evaluation })
  const one = { ...load, cores: series.cores, corner, settled }
  return scene && drawCourse(seriesCourse(scene, one, series), size)
}

/** The loads that a view can be drawn for, full activity first. */
export function loadsToDraw({ input }: Evaluation): readonly string[] {
  return [
    fullActivity,
    ...new Set(input.loads.flatMap(({ name, definition }) => (definition === undefined ? [] : [name]))),
  ]
}
