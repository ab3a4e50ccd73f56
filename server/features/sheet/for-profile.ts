/** The sheet of a profile in a loaded file. */

import type { PartEvidence } from '../../bench/evidence/evidence.ts'
import type { Severities } from '../../checks/run.ts'
import { type Bench, benchOfGroup, interpolateRows } from '../../model/index.ts'
import type { Definition } from '../../semantic/definitions.ts'
import { type Evaluation, evaluate } from '../../semantic/evaluate.ts'
import type { Contradiction } from '../../semantic/evidence.ts'
import { type ResolvedProfile, resolveProfile } from '../../semantic/profile.ts'
import { chanceText } from '../../wording/evidence.ts'
import { ratioText, voltageText } from '../../wording/figures.ts'
import { ofGroupText } from '../../wording/places.ts'
import type { Workspace } from '../../workspace/workspace.ts'
import { takesText } from '../evidence/words.ts'
import { errorsOf } from './errors.ts'
import type { ReachedRatio } from './facts.ts'
import { plateFacts } from './plate.ts'
import { type SheetOptions, sheetOf } from './sheet.ts'
import type { Sheet, SheetFact } from './types.ts'
import { usedRatios } from './voltage.ts'

/** A profile of a loaded file with all it starts from; undefined where the file defines none of this name. */
export function profileIn(workspace: Workspace, uri: string, name: string): ResolvedProfile | undefined {
  const view = workspace.view(uri)
  const found = view?.document.definitions.find(one => one.kind === 'profile' && one.name === name)
  return view === undefined || found === undefined ? undefined : resolveProfile(view.scope, found)
}

/** The lowest ratio that each load comes to at any core count and in any corner. */
function reachedRatios({ predictions }: Evaluation): readonly ReachedRatio[] {
  const lowest = new Map<string, ReachedRatio>()
  for (const { load, settled } of predictions) {
    for (const { group, ratioLow } of settled.groups ?? [{ group: undefined, ratioLow: settled.ratioLow }]) {
      const key = `${load.name}\n${group ?? ''}`
      if (ratioLow === null || ratioLow >= (lowest.get(key)?.ratio ?? Number.POSITIVE_INFINITY)) continue
      lowest.set(key, { load: load.name, group, ratio: ratioLow })
    }
  }
  return [...lowest.values()]
}

/** The runs that stopped at voltages that this profile counts on, and the lowest ratio that each speaks against. */
function contradictedWords({ input }: Evaluation, evidence: PartEvidence | undefined): readonly string[] {
  const { bench } = input
  if (bench === undefined || evidence === undefined) return []
  // A run speaks against each ratio by itself: it is said once, with the lowest of them.
  const lowest = new Map<Definition, Contradiction & { readonly from: number }>()
  for (const { part, profile, evidence: own } of ofEachGroup(bench, evidence)) {
    for (const { ratio } of usedRatios(part, profile)) {
      const found = own.against(ratio, interpolateRows(part.needs, ratio))
      if (found === undefined) continue
      lowest.set(found.definition, { ...found, from: Math.min(ratio, lowest.get(found.definition)?.from ?? ratio) })
    }
  }
  return [...lowest.values()].map(
    ({ run, voltageV, statedV, what, from }) =>
      `The voltages from ${ratioText(from)} on are not proven: run ${run} stopped (“${what}”) with ${voltageText(voltageV)} at the die, where ${voltageText(statedV)} is said to be enough. Correct \`needs\` before you enter them.`,
  )
}

/** What trials show of each ratio that a voltage is entered for; nothing where nothing was tried of the part. */
function triedFacts({ input }: Evaluation, evidence: PartEvidence | undefined): readonly SheetFact[] {
  const { bench } = input
  if (bench === undefined || evidence === undefined) return []
  return ofEachGroup(bench, evidence).flatMap(({ part, profile, evidence: own, group }) =>
    usedRatios(part, profile).map(({ ratio }) => {
      const row = own.ledger.at(ratio)
      const text = `${row.word}: ${voltageText(row.statedV)} is enough with a probability of ${chanceText(row.probability)}; after all trials it takes ${takesText(row)}`
      return { name: `need at ${ratioText(ratio)}${ofGroupText(group)}`, text }
    }),
  )
}

interface GroupEvidence extends Pick<Bench, 'part' | 'profile'> {
  readonly evidence: PartEvidence
  readonly group: string | undefined
}

/** A bench for each group of cores that something was tried of; as it is where all are alike. */
function ofEachGroup(bench: Bench, evidence: PartEvidence): readonly GroupEvidence[] {
  const { groups } = bench.part
  if (groups === undefined) return [{ ...bench, evidence, group: undefined }]
  return groups.flatMap(({ name }, index): GroupEvidence[] => {
    const own = evidence.ofGroup(name)
    return own === undefined ? [] : [{ ...benchOfGroup(bench, index), evidence: own, group: name }]
  })
}

/** The entry sheet of a profile of a loaded file, with what is found at error level; undefined where there is none. */
export function sheetFor(
  workspace: Workspace,
  uri: string,
  name: string,
  options: Pick<SheetOptions, 'from'> & {
    readonly severities?: Severities
    readonly evidence?: (part: Definition | undefined) => PartEvidence | undefined
  } = {},
): Sheet | undefined {
  const view = workspace.view(uri)
  const profile = profileIn(workspace, uri, name)
  if (view === undefined || profile === undefined) return undefined
  const errors = errorsOf(workspace, view, profile, options.severities)
  const evaluation = evaluate(view.scope, profile.definition)
  const evidence = options.evidence?.(profile.part)
  const against = contradictedWords(evaluation, evidence)
  return sheetOf(profile, {
    ...options,
    errors,
    reached: reachedRatios(evaluation),
    plate: plateFacts(evaluation),
    against,
    tried: triedFacts(evaluation, evidence),
  })
}
