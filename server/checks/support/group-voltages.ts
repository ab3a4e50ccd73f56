/** The voltages that the groups of a part's cores come to, for the checks of voltage. */

import {
  type Bench,
  benchOfGroup,
  boardOfRail,
  isByNeeds,
  isWork,
  setVoltageRows,
  setVoltageV,
  type VoltageNote,
} from '../../model/index.ts'
import { type EnvelopePoint, envelopeOf } from '../../semantic/envelope.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import { type GroupView, groupViews } from '../../semantic/group-view.ts'
import { partVoltages } from '../../semantic/profile-values.ts'
import type { Place } from '../types.ts'
import { ratiosOfSteps, type UsedRatio, voltagePlace } from './physics-voltage.ts'

/** A ratio of a group with what is set for it, and the rail's range that it is furthest outside of. */
export interface GroupVoltage {
  /** Where a finding about it stands: looked up for those that have one. */
  readonly at: () => Place
  readonly group: string
  readonly ratio: number
  readonly setV: number
  /** The group whose range it is: each on the rail is supplied with it, busy or idle. */
  readonly holder: string
  readonly range: { readonly lowV: number; readonly highV: number }
}

/** The ratios that one group is asked for, and what is set for each, with a count that brings it there. */
function* askedOf(evaluation: Evaluation, bench: Bench): Iterable<UsedRatio> {
  const { part, profile, board } = bench
  const rows = setVoltageRows(part, profile.voltage)
  for (const asked of ratiosOfSteps(evaluation, bench)) yield { ...asked, setV: setVoltageV(rows, board, asked.ratio) }
  if (!isByNeeds(profile.voltage)) return
  for (const { ratio } of profile.voltage.set) yield { ratio, cores: 0, setV: setVoltageV(rows, board, ratio) }
}

/** What each group of a bench is set to, beside the range of every group on the same rail. */
export function* groupVoltages(evaluation: Evaluation, bench: Bench): Iterable<GroupVoltage> {
  const groups = bench.part.groups ?? []
  const views = groupViews(evaluation.profile)
  for (const [index, { name, rail }] of groups.entries()) {
    const view = views[index] as GroupView
    const own = groupBench(bench, index)
    const seen: Evaluation = { ...evaluation, profile: view }
    const ranges = groups.flatMap((other, at) => {
      const range = other.rail === rail ? partVoltages(views[at] as GroupView) : undefined
      return range === undefined ? [] : [{ holder: other.name, range }]
    })
    for (const { ratio, cores, setV } of askedOf(seen, own)) {
      const at = (): Place => voltagePlace(seen, own, ratio, cores)
      for (const { holder, range } of ranges) yield { at, group: name, ratio, setV, holder, range }
    }
  }
}

/** The bench as one group has it, on the board as its rail does: its own step and load line, else those of all rails. */
export function groupBench(bench: Bench, index: number): Bench {
  const rail = bench.part.groups?.[index]?.rail ?? ''
  const alone = benchOfGroup(bench, index)
  return { ...alone, board: boardOfRail(alone.board, rail) }
}

/** A group that gets less than it needs at one ratio of one load. */
export interface GroupShort {
  readonly view: GroupView
  readonly point: EnvelopePoint
  readonly note: VoltageNote
  readonly byV: number
  readonly at: Place
}

/** Every ratio of every group, wherever the part is looked at, at which the die gets less than the group needs. */
export function groupShorts(evaluation: Evaluation, bench: Bench): readonly GroupShort[] {
  const views = groupViews(evaluation.profile)
  const found: GroupShort[] = []
  for (const point of envelopeOf(evaluation)) {
    const { load, settled } = point
    const { groups } = settled.notes
    if (!isWork(load) || groups === undefined) continue
    for (let index = 0; index < groups.length; index++) {
      const view = views[index]
      const cores = load.groups?.[index]?.cores ?? 0
      for (const note of groups[index]?.voltages ?? []) {
        const byV = note.needV - note.voltageV
        if (view === undefined || byV <= 1e-6 * note.needV) continue
        const at = voltagePlace({ ...evaluation, profile: view }, benchOfGroup(bench, index), note.ratio, cores)
        found.push({ view, point, note, byV, at })
      }
    }
  }
  return found
}
