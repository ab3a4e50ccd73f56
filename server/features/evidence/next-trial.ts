/** What to run tonight: the trials that tell most of a profile's voltages, each as a run to fill in. */

import { type BenchCandidate, candidatesOf, type Unreached } from '../../bench/evidence/candidates.ts'
import { nothingTried, type PartEvidence } from '../../bench/evidence/evidence.ts'
import type { LedgerRow } from '../../bench/evidence/ledger.ts'
import { bestTrials, type Outlook, type Proposal } from '../../bench/evidence/next.ts'
import { type Corner, partOfGroup, seededUniform } from '../../model/index.ts'
import type { Definition } from '../../semantic/definitions.ts'
import { doubtedOf } from '../../semantic/doubted.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import { type GroupView, groupViews } from '../../semantic/group-view.ts'
import { proofOf } from '../../semantic/proof.ts'
import { railVoltages } from '../../semantic/rail-voltages.ts'
import { unreadOf } from '../../semantic/unread.ts'
import { clockText, ratioText, statedText, voltageText } from '../../wording/figures.ts'
import { obstacleText } from '../../wording/missing.ts'
import { ofGroupText } from '../../wording/places.ts'
import { durationText } from '../../wording/times.ts'

export interface TrialProposal extends BenchCandidate, Outlook {
  /** The group of cores that it is a trial of; absent where all are alike. */
  readonly group?: string
  /** As a `run` block, which counts as nothing until it is filled in. */
  readonly run: string
}

/** What is known now of a ratio, with its group where cores are of several kinds. */
type KnownRow = LedgerRow & { readonly group?: string }

export interface NextTrials {
  readonly profile: string
  readonly part: string
  /** The ratios of the profile's steps, as they are known now. */
  readonly rows: readonly KnownRow[]
  readonly proposals: readonly TrialProposal[]
  readonly unreached: readonly Unreached[]
  /** Groups of cores that no load keeps busy alone: a stop with others at work would be nobody's. */
  readonly neverAlone: readonly string[]
  readonly corner: Corner
}

/** So many draws weigh the candidates. */
const DRAWS = 500

/** A name for the run that no run has yet. */
function runName({ ratio, load }: BenchCandidate, taken: ReadonlySet<string>): string {
  const base = `${load}-${String(ratio).replace('.', '-')}x`
  for (let number = 1; ; number++) {
    const name = number === 1 ? base : `${base}-${number}`
    if (!taken.has(name)) return name
  }
}

function runText(
  profile: string,
  proposal: Proposal<BenchCandidate> & { readonly group?: string },
  referenceGhz: number,
  name: string,
): string {
  const { ratio, setV, load, forS, cores, dieV, dieC, group } = proposal
  const clock = clockText(ratio * referenceGhz * 1000)
  return [
    `run ${name} of ${profile} under ${load} {`,
    `  # Enter ${ratioText(ratio)} for ${cores} cores${ofGroupText(group)} and ${voltageText(setV)}; run ${load} for ${durationText(forS)}, or until it stops.`,
    '  # Then write down what you measured, and one of the two ends:',
    `  # measured { clock ${clock}; voltage ${voltageText(dieV)}; die ${statedText(Math.round(dieC), '°C')} }   (predicted)`,
    `  # held ${durationText(forS)}`,
    '  # stopped after 4 min "what was seen"',
    '}',
    '',
  ].join('\n')
}

/** Why there is nothing to propose for a profile, in words that follow "because"; undefined where there may be. */
export function noTrialText({ profile, input }: Evaluation): string | undefined {
  const { part } = profile
  if (part === undefined || input.bench === undefined) return obstacleText({ profile, input }) ?? 'it has no prediction'
  if (unreadOf(profile).length > 0) return 'a line that it rests on does not read'
  if (doubtedOf(profile).length > 0) return 'a value that it rests on is far from what is usual'
  return undefined
}

/**
 * The best trials for a profile, at most three and one a ratio. Undefined where nothing can be predicted.
 * @param evidence of the profile's part; without it the stated rows are all that is known
 * @param risk the largest chance of a stop
 * @param taken names that runs have
 */
export function nextTrials(
  evaluation: Evaluation,
  evidence: PartEvidence | undefined,
  risk: number,
  taken: ReadonlySet<string>,
): NextTrials | undefined {
  const { profile, input } = evaluation
  const { part } = profile
  if (part === undefined || input.bench === undefined || noTrialText(evaluation) !== undefined) return undefined
  const names = new Set(taken)
  const found = groupViews(profile).flatMap(view => ofCores(evaluation, part, evidence, risk, view) ?? [])
  const [first] = found
  if (first === undefined) return undefined
  const best = found
    .flatMap(({ proposals }) => proposals)
    .toSorted((a, b) => b.gainPerMin - a.gainPerMin)
    .slice(0, MOST)
  return {
    profile: profile.definition.name,
    part: part.name,
    rows: found.flatMap(({ rows }) => rows),
    proposals: best.map(proposal => {
      const name = runName(proposal, names)
      names.add(name)
      return { ...proposal, run: runText(profile.definition.name, proposal, input.bench?.part.referenceGhz ?? 0, name) }
    }),
    unreached: found.flatMap(({ unreached }) => unreached),
    neverAlone: found.flatMap(({ neverAlone }) => neverAlone),
    corner: first.corner,
  }
}

/** Proposals of one call. */
const MOST = 3

interface OfCores extends Pick<NextTrials, 'rows' | 'unreached' | 'neverAlone' | 'corner'> {
  readonly proposals: readonly (Proposal<BenchCandidate> & { readonly group?: string })[]
}

/** The best trials for cores of one kind: all of a part, or those of one group. */
function ofCores(
  evaluation: Evaluation,
  part: Definition,
  evidence: PartEvidence | undefined,
  risk: number,
  view: GroupView,
): OfCores | undefined {
  const { bench } = evaluation.input
  if (bench === undefined) return undefined
  const index = bench.part.groups?.findIndex(({ name }) => name === view.group)
  const own = view.group === undefined ? evidence : evidence?.ofGroup(view.group)
  const known = own ?? nothingTried(partOfGroup(bench.part, index ?? 0), proofOf(part))
  const range = railVoltages(evaluation.profile, bench.part, index)
  const found = candidatesOf(evaluation, known, range, index)
  if (found === undefined) return undefined
  const { posterior } = known.ledger
  const rowRatios = posterior.rows.map(({ ratio }) => ratio)
  const draws = posterior.draws(DRAWS, seededUniform(1))
  const best = bestTrials(draws, rowRatios, posterior.proofSharpnesses, found.ratios, found.candidates, { risk })
  const named = view.group === undefined ? {} : { group: view.group }
  return {
    rows: found.ratios.map(ratio => ({ ...known.ledger.at(ratio), ...named })),
    proposals: best.map(one => ({ ...one, ...named })),
    unreached: found.unreached,
    neverAlone: view.group !== undefined && found.candidates.length + found.unreached.length === 0 ? [view.group] : [],
    corner: found.corner,
  }
}
