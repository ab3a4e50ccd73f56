/** What it would take for an expectation to hold: the smallest change of each value alone, else of two settings. */

import { didYouMean } from '../../../grammar/nearest.ts'
import { builtInLoads } from '../../../grammar/vocabulary/index.ts'
import { text } from '../../semantic/definitions.ts'
import { doubtedOf, doubtedText } from '../../semantic/doubted.ts'
import { type Expectation, expectationOf } from '../../semantic/expectations.ts'
import type { Sourced } from '../../semantic/profile.ts'
import { unreadOf, unreadText } from '../../semantic/unread.ts'
import { listed } from '../../wording/counts.ts'
import { obstacleText } from '../../wording/missing.ts'
import type { Workspace } from '../../workspace/workspace.ts'
import { beyondPart } from '../beyond-part.ts'
import { leversOf } from './levers/index.ts'
import { loadsFor } from './of-course.ts'
import { leastPairs } from './pairs.ts'
import { createScreen } from './screen.ts'
import { lostMhz, nearest } from './singles.ts'
import { createTrials, type TrialFacts, type Trials } from './trials.ts'
import { type InSlices, type Reach, type ReachAnswer, type ReachChange, reachKinds } from './types.ts'

/** Why nothing can be said, in one line for a person. */
export class ReachTrouble extends Error {
  /** Where it is in the expectation, in offsets of its chunk; undefined where it is not there. */
  readonly at: number | undefined
  constructor(message: string, at?: number) {
    super(message)
    this.at = at
  }
}

/** Pairs are looked for this long. */
const pairsWithinMs = 20_000

function asTheyCount(a: ReachAnswer, b: ReachAnswer): number {
  const [one, other] = [a.changes[0], b.changes[0]]
  if (one === undefined || other === undefined) return 0
  return (
    Number(one.isBench) - Number(other.isBench) ||
    a.asks - b.asks ||
    lostMhz(a.costs) - lostMhz(b.costs) ||
    rank(one) - rank(other) ||
    one.offset - other.offset ||
    (nameOf(a) < nameOf(b) ? -1 : 1)
  )
}

const rank = ({ kind }: ReachChange): number => reachKinds.indexOf(kind)
const nameOf = ({ changes }: ReachAnswer): string => changes.map(({ name, to }) => `${name} ${to}`).join('\n')

/** What keeps a profile from being judged at all. */
function obstacle({ base }: Trials): string | undefined {
  const { profile } = base
  const lacks = obstacleText(base)
  if (lacks !== undefined) return lacks
  const [unread] = unreadOf(profile)
  if (unread !== undefined) return `\`${unreadText(unread)}\` does not read`
  const [unusual] = doubtedOf(profile)
  return unusual && `\`${doubtedText(unusual)}\` is far from what is usual`
}

/** Errors: `ReachTrouble` where there is no load of the name that the expectation has. */
function checkLoad({ base }: Trials, { match }: Sourced): void {
  const course = text(match, 'course')
  const courses = base.profile.courses.map(({ name }) => name)
  if (course !== undefined && !courses.includes(course.text)) {
    const near = didYouMean(course.text, courses)[0]
    const end = near === undefined ? '.' : `; did you mean ${near}?`
    throw new ReachTrouble(`There is no course ${course.text} here${end}`, course.start)
  }
  const load = course === undefined ? text(match, 'load') : undefined
  const names = [...base.profile.loads.map(({ name }) => name), ...builtInLoads]
  if (load === undefined || names.includes(load.text)) return
  const meant = didYouMean(load.text, names)[0]
  const others = meant === undefined ? `; there are ${listed(names)}.` : `; did you mean ${meant}?`
  throw new ReachTrouble(`There is no load ${load.text} here${others}`, load.start)
}

/** Where no change of a value would make a figure of it. */
function isHopeless({ holds, doubt, figure }: Expectation): boolean {
  return holds === null && doubt === undefined && figure !== 'stable'
}

/**
 * What it would take, a few milliseconds at a time.
 * @param live the documents in use; nothing of them is changed
 * @param sourced the expectation, of a profile of its own or of the one asked about
 * Errors: `ReachTrouble` where the profile is not there or not predicted, or the expectation cannot be judged or lies beyond the
 * part.
 */
export function* reachInSlices(
  live: Workspace,
  uri: string,
  profile: string,
  sourced: Sourced,
  facts: TrialFacts,
): InSlices<Reach> {
  const trials = yield* createTrials(live, uri, profile, sourced, facts)
  if (trials === undefined) throw new ReachTrouble(`There is no profile ${profile} in the file.`)
  const why = obstacle(trials)
  if (why !== undefined) throw new ReachTrouble(`Profile ${profile} is not predicted: ${why}.`)
  checkLoad(trials, sourced)
  const soon = expectationOf(trials.base, sourced, trials.evidence)
  const { bench } = trials.base.input
  const end = soon && bench && beyondPart(trials.base, bench, soon)
  if (end !== undefined && soon?.holds !== true)
    throw new ReachTrouble(`Beyond the part: \`${soon?.text}\` cannot be reached; ${end}.`)
  const now = yield* trials.now()
  if (now === undefined) throw new ReachTrouble('The expectation cannot be read.')
  if (isHopeless(now)) throw new ReachTrouble(`\`${now.text}\` cannot be judged: ${now.undecided}.`)
  const found = {
    profile,
    expectation: now.text,
    now: { predicted: now.predicted, unit: now.unit, holds: now.holds },
  }
  if (now.holds === true) return { ...found, answers: [], pairs: [] }
  const levers = leversOf(trials.base, trials.scope, loadsFor(trials.base, now))
  const screen = createScreen(trials.base, now, yield* trials.holding(), trials.evidence)
  const answers: ReachAnswer[] = []
  const beganMs = performance.now()
  for (const lever of levers) {
    const answer = yield* nearest(trials, screen, lever)
    if (answer !== undefined) answers.push(answer)
  }
  answers.sort(asTheyCount)
  if (answers.length > 0) return { ...found, answers, pairs: [] }
  // A course takes long to follow, so what was tried alone counts too: nobody waits much longer for it than for a load.
  const fromMs = now.course === undefined ? performance.now() : beganMs
  const endMs = fromMs + (facts.pairsWithinMs ?? pairsWithinMs)
  const { pairs, looked } = yield* leastPairs(trials, screen, levers, now, endMs)
  return { ...found, answers, pairs: [...pairs].sort(asTheyCount), looked }
}
