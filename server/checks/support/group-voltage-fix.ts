/** What to set for one group of cores so that it gets what it needs within what every group on its rail allows, found by trying. */

import {
  type Bench,
  type CoreVoltage,
  interpolateRows,
  isByNeeds,
  type VoltageNote,
  withGroupSettings,
} from '../../model/index.ts'
import { nameAfter, quantity } from '../../semantic/definitions.ts'
import { type EnvelopePoint, envelopeOf } from '../../semantic/envelope.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import type { GroupView } from '../../semantic/group-view.ts'
import type { Sourced } from '../../semantic/profile.ts'
import { ratioText, voltageText } from '../../wording/figures.ts'
import type { Fix } from '../types.ts'
import { groupBench, groupVoltages } from './group-voltages.ts'
import { setWhole, stateIn } from './physics-edits.ts'
import { coreNeedsText, decidingRow, rewriteVoltage, setRowAt, toStep, writingStepV } from './physics-voltage.ts'
import { settleAgain } from './what-if.ts'

/** A setting of the group that can be raised: what it is now or at the least, and how it is written. */
interface Lever {
  readonly startV: number
  readonly at: (volts: number) => CoreVoltage
  /** Whether the voltage at a ratio follows from it. */
  readonly decides: (ratio: number) => boolean
  readonly words: (volts: number) => string
  readonly fix: (volts: number) => Fix | undefined
}

export interface GroupAnswer {
  /** What to write, in the language's spelling. */
  readonly words: string
  readonly fix: Fix
}

/** Points tried for an answer, the shortest first; the others are short by less. */
const pointsVerified = 16
const ROUNDS = 40
const MOST_V = 0.5

/** A line `core NAME …`: in place of the group's own, else beside what stands for every group. */
function coreFix({ profile }: Evaluation, view: GroupView, line: string): Fix | undefined {
  const core = view.inner('voltage', 'core')
  const own = core !== undefined && nameAfter(core.match) === view.group ? core : undefined
  const edit =
    own === undefined ? stateIn(profile.definition, 'voltage', line) : setWhole(profile, own, 'voltage', line)
  return edit && { title: `Write \`${line}\``, edits: [edit], preferred: true }
}

/**
 * A `set` row with another voltage. One for every group decides for others as well, and rows of a group's own take the
 * place of all of these: the group gets its own of each, the one with the other voltage.
 */
function setFix(evaluation: Evaluation, view: GroupView, row: Sourced, line: string, volts: number): Fix | undefined {
  if (nameAfter(row.match) === view.group) return rewriteVoltage(evaluation, row, 'voltage', volts)
  const lines = view.setRows().map(one => {
    const { start, end } = one.match.statement
    const text = one.definition.chunk.text.slice(start, end)
    return one.match === row.match ? line : text.replace(/^set\b/, `set ${view.group}`)
  })
  const edit = stateIn(evaluation.profile.definition, 'voltage', ...lines)
  const title = lines.length === 1 ? `Write \`${line}\`` : `Write \`${line}\`, and the other rows for ${view.group}`
  return edit && { title, edits: [edit], preferred: true }
}

/**
 * @param ratio at which the voltage is wrong
 * @param from where the search begins: at what is set, or at what the part needs
 */
function leverAt(
  evaluation: Evaluation,
  own: Bench,
  view: GroupView,
  ratio: number,
  from: 'set' | 'least',
): Lever | undefined {
  const { voltage } = own.profile
  const name = view.group
  const seen: Evaluation = { ...evaluation, profile: view }
  const needV = toStep(own, interpolateRows(own.part.needs, ratio), 'up')
  if (!isByNeeds(voltage)) {
    const words = (volts: number): string => `core ${name} fixed ${voltageText(volts)}`
    return {
      startV: from === 'set' && voltage.kind === 'fixed' ? toStep(own, voltage.voltageV, 'up') : needV,
      at: volts => ({ kind: 'fixed', voltageV: volts }),
      decides: () => true,
      words,
      fix: volts => coreFix(evaluation, view, words(volts)),
    }
  }
  const decider = decidingRow(seen, own, ratio)
  if (decider === undefined) {
    const words = (volts: number): string => coreNeedsText(volts).replace('core', `core ${name}`)
    return {
      startV: from === 'set' ? toStep(own, voltage.offsetV, 'up') : 0,
      at: volts => ({ ...voltage, offsetV: volts }),
      decides: at => decidingRow(seen, own, at) === undefined,
      words,
      fix: volts => coreFix(evaluation, view, words(volts)),
    }
  }
  const rowRatio = quantity(decider.match, 'ratio')?.value
  const rowV = quantity(decider.match, 'voltage')?.value
  if (rowRatio === undefined || rowV === undefined) return undefined
  const words = (volts: number): string => `set ${name} ${ratioText(rowRatio)} ${voltageText(volts)}`
  return {
    startV: from === 'set' ? toStep(own, rowV, 'up') : needV,
    at: volts => ({
      ...voltage,
      set: voltage.set.map(one => (one.ratio === rowRatio ? { ...one, voltageV: volts } : one)),
    }),
    decides: at => decidingRow(seen, own, at)?.match === decider.match || setRowAt(seen, at)?.match === decider.match,
    words,
    fix: volts => setFix(evaluation, view, decider, words(volts), volts),
  }
}

/** The most that a group lacks at the ratios in question; 0 where it has enough. */
function shortBy(voltages: readonly VoltageNote[], concerns: (ratio: number) => boolean): number {
  return voltages.reduce((most, { ratio, needV, voltageV }) => {
    const byV = needV - voltageV
    return concerns(ratio) && byV > 1e-6 * needV ? Math.max(most, byV) : most
  }, 0)
}

/** The same of another group that has enough now: on one rail it may live on what this one asks for. */
function newlyShort(point: EnvelopePoint, index: number, voltages: readonly VoltageNote[]): number {
  const before = shortBy(point.settled.notes.groups?.[index]?.voltages ?? [], () => true)
  return before > 0 ? 0 : shortBy(voltages, () => true)
}

/** By how much each ratio in question of the group is short at a point; below zero where it has more. */
function needsAt(point: EnvelopePoint, index: number, concerns: (ratio: number) => boolean): readonly number[] {
  const voltages = point.settled.notes.groups?.[index]?.voltages ?? []
  return voltages.flatMap(({ ratio, needV, voltageV }) => (concerns(ratio) ? [needV - voltageV] : []))
}

/**
 * The least that the group's own setting may be, with which nothing that follows from it is short and all groups on the
 * rail stay within what they allow; undefined where there is none.
 */
export function servingGroup(
  evaluation: Evaluation,
  bench: Bench,
  view: GroupView,
  ratio: number,
  from: 'set' | 'least',
): GroupAnswer | undefined {
  const index = bench.part.groups?.findIndex(({ name }) => name === view.group) ?? -1
  if (index < 0) return undefined
  const own = groupBench(bench, index)
  const lever = leverAt(evaluation, own, view, ratio, from)
  if (lever === undefined) return undefined
  const points = envelopeOf(evaluation)
    .map(point => ({ point, most: Math.max(...needsAt(point, index, lever.decides)) }))
    .filter(({ most }) => most > Number.NEGATIVE_INFINITY)
    .sort((a, b) => b.most - a.most)
    .slice(0, pointsVerified)
  const stepV = writingStepV(own)
  let volts = lever.startV
  for (let round = 0; round < ROUNDS && volts - lever.startV <= MOST_V; round++) {
    const other = withGroupSettings(bench, index, { voltage: lever.at(volts) })
    const asked = [...groupVoltages(evaluation, other)].filter(
      one => one.group === view.group && lever.decides(one.ratio),
    )
    let most = Math.max(0, ...asked.map(({ setV, range }) => range.lowV * (1 - 1e-6) - setV))
    if (most === 0) {
      if (asked.some(({ setV, range }) => setV > range.highV * (1 + 1e-6))) return undefined
      for (const { point } of points) {
        const settled = settleAgain(other, point)
        if (settled === undefined || settled.state === 'runaway') return undefined
        for (const [at, { voltages }] of (settled.notes.groups ?? []).entries())
          most = Math.max(most, at === index ? shortBy(voltages, lever.decides) : newlyShort(point, at, voltages))
        if (most > 0) break
      }
    }
    if (most === 0) {
      const fix = lever.fix(volts)
      return fix && { words: lever.words(volts), fix }
    }
    volts = Number((volts + Math.max(1, Math.ceil(most / stepV - 1e-6)) * stepV).toFixed(9))
  }
  return undefined
}
