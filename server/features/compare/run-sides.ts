/** Which runs were made with which settings: a run may name the revision of its profile. */

import type { ComparedRun } from '../../bench/run/compared.ts'
import type { RunRecord } from '../../bench/run/record.ts'
import type { ResolvedProfile } from '../../semantic/profile.ts'
import type { Workspace } from '../../workspace/workspace.ts'
import { profileIn } from '../sheet/for-profile.ts'
import { runsOfProfile } from './for-profile.ts'
import { setsTheSame } from './settings.ts'

/** A profile of a loaded file, as it is now or as it was. */
export interface PlacedProfile {
  readonly name: string
  /** What it is called in outputs: its name, behind `@` the revision where it is an older one. */
  readonly label: string
  readonly workspace: Workspace
  readonly uri: string
  /** The commit; undefined for the profile as it is now. */
  readonly commit: string | undefined
}

export interface SideRuns {
  readonly runs: readonly RunRecord[]
  readonly notes: readonly string[]
}

/** The profile as it was at a revision that a run names; undefined where it cannot be read. */
export type AtRevision = (revision: string) => Promise<PlacedProfile | undefined>

function sameSettings(side: PlacedProfile, other: PlacedProfile): boolean {
  const [a, b] = [side, other].map(({ workspace, uri, name }) => profileIn(workspace, uri, name))
  return a !== undefined && b !== undefined && setsTheSame(a, b)
}

function named(runs: readonly RunRecord[]): string {
  return runs.map(({ name }) => name).join(', ')
}

/** A run and whether it was made with the settings of a side: it may name no revision, or one that cannot be read. */
interface SidedRun {
  readonly run: RunRecord
  readonly revision: 'none' | 'unknown' | 'known'
  readonly isOurs: boolean
}

/** The runs that count for a side, and what outputs say of the others: the one rule of every comparison. */
function countedRuns({ label, commit }: Pick<PlacedProfile, 'label' | 'commit'>, sided: readonly SidedRun[]): SideRuns {
  const pick = (wanted: (one: SidedRun) => boolean): readonly RunRecord[] => sided.filter(wanted).map(({ run }) => run)
  const unknown = commit === undefined ? pick(({ revision }) => revision === 'unknown') : []
  const others = pick(({ revision, isOurs }) => revision === 'known' && !isOurs)
  const unnamed = commit === undefined ? [] : pick(({ revision, isOurs }) => revision === 'none' && !isOurs)
  const notes: string[] = []
  if (unknown.length > 0) {
    notes.push(`${label}: the revision of ${named(unknown)} could not be read; counted as made with today’s values.`)
  }
  if (others.length > 0) notes.push(`${label}: not counted, because made with other values: ${named(others)}.`)
  if (unnamed.length > 0) {
    notes.push(`${label}: not counted, because without a \`revision\` they count as today’s runs: ${named(unnamed)}.`)
  }
  return { runs: pick(({ isOurs }) => isOurs), notes }
}

/**
 * The runs that were made with the settings of a side. A run that names no revision was made with the profile as it is
 * now; one whose revision cannot be read is taken for that as well, and it is said.
 * @param now the profile as it is now, where it still is
 */
export async function runsOfSide(
  now: PlacedProfile | undefined,
  side: PlacedProfile,
  atRevision: AtRevision,
): Promise<SideRuns> {
  // A profile that is gone has its runs where it last stood.
  const home = now ?? side
  const sided: SidedRun[] = []
  const asked = new Map<string, PlacedProfile | undefined>()
  for (const run of runsOfProfile(home.workspace, home.uri, home.name)) {
    const { revision } = run
    if (revision !== undefined && !asked.has(revision)) asked.set(revision, await atRevision(revision))
    const made = revision === undefined ? home : asked.get(revision)
    const isOurs =
      made === undefined ? side.commit === undefined : made.commit === side.commit || sameSettings(side, made)
    sided.push({ run, revision: revision === undefined ? 'none' : made === undefined ? 'unknown' : 'known', isOurs })
  }
  return countedRuns(side, sided)
}

/** The same of a profile as it is now, for runs whose revisions have been read. */
export function runsOfNow(label: string, profile: ResolvedProfile, runs: readonly ComparedRun[]): SideRuns {
  const sided = runs.map(({ record: run, asRun }): SidedRun => {
    const revision = run.revision === undefined ? 'none' : asRun === undefined ? 'unknown' : 'known'
    return { run, revision, isOurs: asRun === undefined || setsTheSame(profile, asRun) }
  })
  return countedRuns({ label, commit: undefined }, sided)
}
