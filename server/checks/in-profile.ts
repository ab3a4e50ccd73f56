/** What is found in one profile, and what of it is its own: kept with its evaluation. */

import { keptWhile, onceFor } from '../../grammar/once.ts'
import type { Chunk } from '../../grammar/tree.ts'
import { finished } from '../model/slices.ts'
import { type Allow, type Definition, mentions, nameAfter, readChunk } from '../semantic/definitions.ts'
import { type Evaluation, evaluate } from '../semantic/evaluate.ts'
import { expectationsOf } from '../semantic/expectations.ts'
import { type GroupView, groupViews } from '../semantic/group-view.ts'
import type { LoadCase } from '../semantic/load-cases.ts'
import { readsWhole, unreadOf } from '../semantic/unread.ts'
import type { FileView } from '../workspace/workspace.ts'
import { checks } from './registry.ts'
import type { BenchFacts, Check, Found } from './types.ts'

export type Hit = readonly [Check, Found]

const profileChecks = checks.filter(check => check.inProfile !== undefined || check.inGroup !== undefined)

/** The checks with a code, or all of them. */
export const withCode = (list: readonly Check[], code: string | undefined): readonly Check[] =>
  code === undefined ? list : list.filter(check => check.code === code)

export const profilesIn = (chunk: Chunk): readonly Definition[] =>
  readChunk(chunk).definitions.filter(({ kind }) => kind === 'profile')

/** All that what is found in the profiles of a file rests on beside their own chunks. */
export function restsOfProfiles({ scope, documents }: FileView, facts: BenchFacts): readonly unknown[] {
  return [scope.looked, ...documents.slice(1), ...scope.all('part').map(part => facts.evidence(part))]
}

/** The same facts for work that looks at each profile of a file: what is shown of a part is looked up once. */
export function lookedUpOnce(facts: BenchFacts): BenchFacts {
  const evidence = onceFor((part: Definition) => facts.evidence(part))
  const inSlices = new Set<Definition>()
  return {
    ...facts,
    evidence: part => part && evidence(part),
    evidenceInSlices: function* (part) {
      if (part === undefined) return undefined
      if (!inSlices.has(part)) yield* facts.evidenceInSlices(part)
      inSlices.add(part)
      return evidence(part)
    },
  }
}

/**
 * A profile as its checks see it. While a line that it rests on does not read, there is no bench for them: what rests
 * on predictions would judge the default that stepped in. A load that does not read is left out.
 */
function asFarAsItReads(evaluation: Evaluation): Evaluation {
  const { profile, input, predictions, overTime } = evaluation
  if (input.bench === undefined) return evaluation
  if (unreadOf(profile).length > 0)
    return { profile, input: { ...input, bench: undefined, benchForSteps: undefined }, predictions: [], overTime }
  const loads = profile.loads.filter(readsWhole)
  if (loads.length === profile.loads.length) return evaluation
  const isRead = (load: LoadCase): boolean => load.definition === undefined || loads.includes(load.definition)
  return {
    profile: { ...profile, loads },
    input: { ...input, loads: input.loads.filter(isRead) },
    predictions: predictions.filter(({ load }) => isRead(load)),
    overTime,
  }
}

/**
 * Everything found in a profile, whatever the severities; evicted with the evaluation, replaced when the bench has shown
 * something else.
 */
const inProfile = keptWhile<Evaluation, readonly Hit[]>()

/** What a check finds of each group of cores; what it says of all of them in the same words is said once. */
function byGroup({ inGroup }: Check, views: readonly GroupView[]): readonly Found[] {
  if (inGroup === undefined) return []
  const found = views.map(view => [...inGroup(view)])
  const isSame = (a: Found, b: Found): boolean =>
    a.message === b.message && a.at.chunk === b.at.chunk && a.at.start === b.at.start && a.at.end === b.at.end
  return found.flatMap((own, index) =>
    own.flatMap(one => {
      const group = views[index]?.group
      if (group === undefined) return one
      if (!found.every(other => other.some(same => isSame(same, one))))
        return { ...one, group, message: `${group}: ${one.message}` }
      return index === 0 ? one : []
    }),
  )
}

/** @param only the code of the one check that is run */
const findInProfile = (evaluation: Evaluation, facts: BenchFacts, only?: string): readonly Hit[] =>
  inProfile.of(evaluation, [facts.evidence(evaluation.profile.part)]) ?? finished(findInSlices(evaluation, facts, only))

/** The same, one check at a time. */
export function* findInSlices(
  evaluation: Evaluation,
  facts: BenchFacts,
  only?: string,
): Generator<undefined, readonly Hit[]> {
  const evidence = facts.evidence(evaluation.profile.part)
  const before = inProfile.of(evaluation, [evidence])
  if (before !== undefined) return before
  const profile = evaluation.profile.definition.name
  const seen = asFarAsItReads(evaluation)
  const views = groupViews(seen.profile)
  const hits: Hit[] = []
  for (const check of withCode(profileChecks, only)) {
    const found = [...(check.inProfile?.(seen, evidence) ?? []), ...byGroup(check, views)]
    for (const one of found) hits.push([check, { profile, ...one }])
    yield
  }
  if (only !== undefined) return hits
  // What still waits for a run over time is found again when the run is there.
  const isPending = expectationsOf(evaluation, evidence).some(one => one.pending)
  return isPending ? hits : inProfile.keep(evaluation, [evidence], hits)
}

/** Whether what is found in a profile is made, and waits for nothing. */
export const isFound = (evaluation: Evaluation, facts: BenchFacts): boolean =>
  inProfile.of(evaluation, [facts.evidence(evaluation.profile.part)]) !== undefined

/** Hits, and the allows that hold for them beside those of their own file. */
export interface Hits {
  readonly hits: readonly Hit[]
  readonly inherited: readonly Allow[]
  /** Whether something of it waits for a run over time. */
  readonly isOpen: boolean
}

/** Evicted with the evaluation; replaced when something else is found in the profile, or in the one it starts from. */
const ownInProfile = keptWhile<Evaluation, Hits>()

/**
 * What is found in a profile but not in the one it starts from. Where an inherited setting comes to the same
 * figures, it is the same mistake, and it is reported where it is made.
 */
export function findOwnInProfile(view: FileView, evaluation: Evaluation, facts: BenchFacts, only?: string): Hits {
  const hits = findInProfile(evaluation, facts, only)
  const [own, base] = evaluation.profile.chain
  const basedOn = own?.basedOn
  const isAlone = hits.length === 0 || base === undefined || basedOn === undefined
  const above = isAlone ? undefined : findInProfile(evaluate(view.scope, base), facts, only)
  const before = ownInProfile.of(evaluation, [hits, above])
  if (before !== undefined) return before
  const isInherited = ({ rests }: Check): boolean =>
    own !== undefined && rests?.every(word => !mentions(own.match, word)) === true
  const isOwn = ([check, { at, message }]: Hit): boolean =>
    at.start !== basedOn?.start ||
    at.end !== basedOn.end ||
    above?.some(([other, found]) => other === check && (found.message === message || isInherited(check))) !== true
  const isOpen = [evaluation, ...(isAlone ? [] : [evaluate(view.scope, base)])].some(one => !isFound(one, facts))
  const inherited = inheritedAllows(evaluation)
  const made = { hits: above === undefined ? hits : hits.filter(isOwn), inherited, isOpen }
  return ownInProfile.keep(evaluation, [hits, above], made)
}

/** Whether an allow of this chunk stands in the definition, in its own block or in one inside it. */
export function standsIn(allow: Allow, definition: Definition): boolean {
  const { covers } = allow
  const { start, end } = definition.match.statement
  return covers !== undefined && allow.chunk === definition.chunk && covers.start >= start && covers.end <= end
}

export const noAllows: readonly Allow[] = []

/**
 * Allows of the profiles that a profile starts from hold for it too; one inside a table holds as long as the
 * table is inherited.
 */
function inheritedAllows({ profile }: Evaluation): readonly Allow[] {
  if (profile.chain.length === 1) return noAllows
  return profile.chain.slice(1).flatMap(link =>
    readChunk(link.chunk).allows.filter(allow => {
      if (!standsIn(allow, link)) return false
      if (allow.covers?.start === link.match.statement.start) return true
      const table = link.match.children.find(child => child.statement.start === allow.covers?.start)
      return table?.word !== undefined && profile.key(table.word.word, nameAfter(table))?.definition === link
    }),
  )
}
