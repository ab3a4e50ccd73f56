/** Which picture belongs to a place of a file: the panel beside the text follows the cursor. */

import { keptWhile, onceFor } from '../../../grammar/once.ts'
import type { PartEvidence } from '../../bench/evidence/evidence.ts'
import type { ComparedRun } from '../../bench/run/compared.ts'
import { settingsText } from '../../bench/run/wording.ts'
import { drawCooling } from '../../charts/cooling.ts'
import { drawCourse } from '../../charts/course.ts'
import { drawMap } from '../../charts/map.ts'
import type { Picture, PictureOptions } from '../../charts/picture.ts'
import { isWork, simulateInSlices, type Transient } from '../../model/index.ts'
import type { Definition } from '../../semantic/definitions.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import { overTimeSliceMs } from '../../semantic/over-time.ts'
import { uncertaintyInSlices } from '../../semantic/uncertainty.ts'
import { unreadWith } from '../../semantic/unread.ts'
import { obstacleText } from '../../wording/missing.ts'
import type { FileView, Workspace } from '../../workspace/workspace.ts'
import type { BenchRuns } from '../bench-runs.ts'
import { cursorAt } from '../cursor.ts'
import { nextTrials, type TrialProposal } from '../evidence/next-trial.ts'
import { evaluationOf, profilesOn } from '../profiles.ts'
import { isSettled } from '../settled.ts'
import { coolingData } from './cooling-view.ts'
import { courseStepS, logCourse, runCourse } from './course-view.ts'
import { drawLedgers } from './ledger-view.ts'
import { mapData } from './map-view.ts'
import { casesOf, type Scene, sceneOf, type WhatIf, whyNotDrawn, worstOf } from './scene.ts'
import { courseRunData, wholeCourseInSlices } from './whole-course.ts'

export type ViewKind = 'map' | 'cooling' | 'course' | 'ledger'

/** What is shown at a place. */
export interface Subject {
  readonly kind: ViewKind
  readonly evaluation: Evaluation
  /** The load that the place is about. */
  readonly load: string | undefined
  readonly run: ComparedRun | undefined
  /** The course that the place is about. */
  readonly course?: Definition
}

const coolingWords: ReadonlySet<string> = new Set(['drive', 'fan', 'limits', 'cooler'])

/** Lines of a part that trials speak of. */
const ledgerWords: ReadonlySet<string> = new Set(['needs', 'needs-slope', 'needs-at', 'vector-needs', 'proof', 'known'])

/** @returns undefined where no picture belongs to the place */
export function subjectAt(workspace: Workspace, bench: BenchRuns, uri: string, offset: number): Subject | undefined {
  const view = workspace.view(uri)
  if (view === undefined) return undefined
  const { definition, path } = cursorAt(view, offset)
  if (definition === undefined) return undefined
  const own = evaluationOf(view, definition)
  if (own !== undefined) {
    const isCooling = coolingWords.has(path[1]?.word?.word ?? '')
    return { kind: isCooling ? 'cooling' : 'map', evaluation: own, load: undefined, run: undefined }
  }
  if (definition.kind === 'run') {
    const run = bench.compared(uri).find(({ record }) => record.definition === definition)
    const evaluation = run?.predicted?.evaluation
    // Without a log there is no course; how it ended stands in the ledger.
    if (evaluation !== undefined && run?.record.outcome !== undefined && run.log === undefined)
      return { kind: 'ledger', evaluation, load: undefined, run: undefined }
    return evaluation && { kind: 'course', evaluation, load: undefined, run }
  }
  const evaluation = profilesOn(workspace, view, definition)[0]
  if (evaluation === undefined) return undefined
  if (definition.kind === 'course') {
    return { kind: 'course', evaluation, load: undefined, run: undefined, course: definition }
  }
  const load = definition.kind === 'load' ? definition.name : undefined
  const kind = definition.kind === 'cooler' ? 'cooling' : ledgerWords.has(path[1]?.word?.word ?? '') ? 'ledger' : 'map'
  return { kind, evaluation, load, run: undefined }
}

/** Where the picture's own definitions are: the file of its profile, wherever the cursor stands. */
export function homeOf(workspace: Workspace, view: FileView, { profile }: Evaluation): FileView {
  const users = [view.document.uri, ...workspace.usersOf(view.document.uri)]
  const home = users.find(uri => workspace.document(uri)?.starts.has(profile.definition.chunk) === true)
  return (home === undefined ? undefined : workspace.view(home)) ?? view
}

/** The other profiles that rest on the same part, each name once. */
function othersOf(workspace: Workspace, { profile }: Evaluation): readonly Evaluation[] {
  const { part, definition } = profile
  const document = part && [...workspace.documents()].find(({ starts }) => starts.has(part.chunk))
  const view = document && workspace.view(document.uri)
  if (part === undefined || view === undefined) return []
  const found = profilesOn(workspace, view, part).map(one => [one.profile.definition.name, one] as const)
  return [...new Map(found).values()].filter(one => one.profile.definition.name !== definition.name)
}

/** A profile of any bench whose edges a map has beside its own, or in a sentence why it has none. */
export type BesideMap =
  | { readonly label: string; readonly workspace: Workspace; readonly evaluation: Evaluation }
  | { readonly lacks: string }

/** What is drawn beside a map. */
function besideOf(
  beside: BesideMap,
  whatIf: WhatIf | undefined,
): { readonly label: string; readonly scene: Scene } | { readonly lacks: string } {
  if ('lacks' in beside) return beside
  const { label, workspace, evaluation } = beside
  const obstacle = obstacleText(evaluation)
  const scene = obstacle === undefined ? sceneOf(workspace, evaluation, whatIf) : undefined
  return scene === undefined
    ? { lacks: `${label} is not predicted: ${obstacle ?? 'its bench is not complete'}.` }
    : { label, scene }
}

export interface AskedView {
  readonly kind?: ViewKind | undefined
  readonly load?: string | undefined
  readonly whatIf?: WhatIf | undefined
  /** What a map has beside its own edges: a profile of `others` by its name, or one of any bench. */
  readonly against?: string | BesideMap | undefined
  /** A first picture without what takes long is welcome, unless the one with this title is shown already. */
  readonly shown?: string | undefined
  readonly size: PictureOptions
}

export interface ShownView {
  readonly kind: ViewKind
  readonly profile: string
  readonly load: string | undefined
  readonly loads: readonly string[]
  /** The other profiles with the same part, beside whose edges a map is read. */
  readonly others: readonly string[]
  readonly picture: Picture
  /** What a person who follows a growing log would want to hear, or why nothing is drawn beside a map. */
  readonly notice: string | undefined
  /** What takes long is not in it yet: worth asking once more. */
  readonly isFirst: boolean
}

/** Why there is no picture: what was shown last may stay, marked. */
export interface Waiting {
  readonly waits: string
}

/** Kept with the run, which another log or prediction replaces. */
const runTransients = onceFor((_: ComparedRun): { made?: Transient | undefined } => ({}))

/** The picture of a place, some milliseconds at a time. */
export function* viewInSlices(
  workspace: Workspace,
  bench: BenchRuns,
  uri: string,
  subject: Subject,
  asked: AskedView,
): Generator<undefined, ShownView | Waiting> {
  const view = workspace.view(uri)
  const { evaluation, run } = subject
  if (view === undefined) return { waits: 'The file is not there any more.' }
  const obstacle = obstacleText(evaluation)
  if (obstacle !== undefined) return { waits: `Not predicted: ${obstacle}.` }
  const home = homeOf(workspace, view, evaluation)
  if (!isSettled(home, evaluation) || unreadWith(evaluation.profile).length > 0)
    return { waits: 'A line does not read.' }
  const scene = sceneOf(workspace, evaluation, asked.whatIf)
  if (scene === undefined) return { waits: 'The bench is not complete.' }
  const loads = [
    'full activity',
    ...new Set(evaluation.input.loads.flatMap(one => (one.definition === undefined ? [] : [one.name]))),
  ]
  const load = asked.load !== undefined && loads.includes(asked.load) ? asked.load : subject.load
  const kind = run !== undefined || subject.course !== undefined ? 'course' : (asked.kind ?? subject.kind)
  const shown = (picture: Picture, notice?: string, isFirst = false): ShownView => {
    const names = kind === 'map' ? others.map(({ profile }) => profile.definition.name) : []
    return { kind, profile: scene.name, load, loads, others: names, picture, notice, isFirst }
  }
  const others = kind === 'map' ? othersOf(workspace, evaluation) : []
  if (kind === 'map') {
    const { against, whatIf } = asked
    const other = others.find(({ profile }) => profile.definition.name === against)
    const given =
      typeof against === 'object' ? against : other && { label: String(against), workspace, evaluation: other }
    const beside = given && besideOf(given, whatIf)
    const lacks = beside !== undefined && 'lacks' in beside ? beside.lacks : undefined
    const data = mapData(scene, { load, against: beside !== undefined && 'scene' in beside ? beside : undefined })
    return data === undefined ? { waits: 'No step covers a core.' } : shown(drawMap(data, asked.size), lacks)
  }
  const { part } = evaluation.profile
  if (kind === 'ledger') {
    if (part === undefined) return { waits: 'The profile names no part.' }
    const first =
      asked.shown === undefined || bench.hasEvidence(part)
        ? undefined
        : drawLedgers({ scenes: [scene], part, evidence: undefined, isFirst: true }, asked.size)
    const isFirst = first !== undefined && first.title !== asked.shown
    const found = isFirst ? undefined : yield* bench.evidenceInSlices(part)
    const picture = isFirst ? first : ledgerOf(scene, part, found, asked.size)
    return picture === undefined ? { waits: 'The part states no needs.' } : shown(picture, undefined, isFirst)
  }
  if (run?.predicted?.ofCourse !== undefined) {
    let data = courseRunData(scene, run)
    // It is followed little by little; asked again the picture has it.
    const { overTime } = evaluation
    const isWelcome = asked.shown !== undefined && asked.shown !== data?.title
    while (!isWelcome && data?.isFirst === true) {
      overTime.makeSome(overTimeSliceMs)
      yield
      data = courseRunData(scene, run)
    }
    if (data !== undefined) return shown(drawCourse(data, tallEnough(asked.size)), undefined, data.isFirst)
    const why = typeof run.courseLog === 'string' ? `Not compared: ${run.courseLog}.` : undefined
    return { waits: why ?? 'The log of this run is not read.' }
  }
  if (run !== undefined) {
    const kept = runTransients(run)
    const first = 'made' in kept || asked.shown === undefined ? undefined : logCourse(scene, run)
    if (first !== undefined && first.title !== asked.shown)
      return shown(drawCourse(first, tallEnough(asked.size)), undefined, true)
    if (!('made' in kept)) kept.made = yield* transientOf(run)
    // The verdict asks for it, and would make it without a pause.
    if (run.predicted !== undefined)
      yield* uncertaintyInSlices(run.predicted.evaluation.input, run.predicted.prediction, false)
    const data = runCourse(scene, run, kept.made)
    return data === undefined
      ? {
          waits:
            run.log?.state === 'read' ? 'The log does not have enough rows yet.' : 'The log of this run is not read.',
        }
      : shown(drawCourse(data, tallEnough(asked.size)), noticeOf(run, data.notice))
  }
  if (subject.course !== undefined) {
    const data = yield* wholeCourseInSlices(scene, subject.course)
    return typeof data === 'string'
      ? { waits: `Not followed: ${data}.` }
      : shown(drawCourse(data, tallEnough(asked.size)))
  }
  const worst = worstOf(casesOf(scene, load))
  return worst === undefined
    ? { waits: `Not drawn: ${whyNotDrawn(evaluation, load)}.` }
    : shown(drawCooling(coolingData(scene, worst), asked.size))
}

/** Evicted with the evaluation; replaced when anything that was tried is another. */
const nextOf = keptWhile<Evaluation, readonly TrialProposal[]>()

/** The ledger with what to try next, whatever its risk: the picture shows where it lies. */
function ledgerOf(
  scene: Scene,
  part: Definition,
  evidence: PartEvidence | undefined,
  size: PictureOptions,
): Picture | undefined {
  const { evaluation } = scene
  const kept = nextOf.of(evaluation, [evidence])
  const next = kept ?? (evidence === undefined ? [] : (nextTrials(evaluation, evidence, 1, new Set())?.proposals ?? []))
  if (kept === undefined) nextOf.keep(evaluation, [evidence], next)
  return drawLedgers({ scenes: [scene], part, evidence, proposals: next }, size)
}

/** What a person would want to hear of a run: that its revision was not read comes first, since all that is predicted rests on it. */
function noticeOf({ settings }: ComparedRun, notice: string | undefined): string | undefined {
  const rests = settings.from === 'pending' || settings.from === 'not-had' ? settingsText(settings) : undefined
  const sentence = rests && `${rests.charAt(0).toUpperCase()}${rests.slice(1)}.`
  return sentence === undefined ? notice : [sentence, ...(notice === undefined ? [] : [notice])].join(' ')
}

/** Panels one below the other take room, whatever the shape of what shows them. */
function tallEnough(size: PictureOptions): PictureOptions {
  return { ...size, height: Math.max(size.height, Math.min(600, Math.round(size.width * 1.15)), 460) }
}

function* transientOf({ predicted, log }: ComparedRun): Generator<undefined, Transient | undefined> {
  const bench = predicted?.evaluation.input.bench
  const load = predicted?.load.load
  if (bench === undefined || load === undefined || !isWork(load) || log?.state !== 'read') return undefined
  const overS = Math.max(1, (log.series.toS.at(-1) ?? 0) - (log.series.fromS[0] ?? 0))
  return yield* simulateInSlices(bench, load, predicted?.corner ?? { airC: 20, humidityPct: 50 }, {
    overS,
    sampleS: courseStepS(overS),
  })
}
