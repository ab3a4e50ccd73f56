import type { RunRecord } from '../../bench/runs.ts'
import type { Workspace } from '../../workspace/workspace.ts'
import { profileIn } from '../sheet/for-profile.ts'
import { runsOfProfile } from './for-profile.ts'
import { setsTheSame } from './settings.ts'

/** Which runs were made with which settings: a run may name the revision of its profile. */

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

/** The profile as it was at a revision that a run names; undefined where there is none to be had. */
export type AtRevision = (revision: string) => Promise<PlacedProfile | undefined>

function sameSettings(side: PlacedProfile, other: PlacedProfile): boolean {
  const [a, b] = [side, other].map(({ workspace, uri, name }) => profileIn(workspace, uri, name))
  return a !== undefined && b !== undefined && setsTheSame(a, b)
}

function named(runs: readonly RunRecord[]): string {
  return runs.map(({ name }) => name).join(', ')
}

/**
 * The runs that were made with the settings of a side. A run that names no revision was made with the profile as it is
 * now; one whose revision cannot be had is taken for that as well, and it is said.
 * @param now the profile as it is now, where it still is
 */
export async function runsOfSide(
  now: PlacedProfile | undefined,
  side: PlacedProfile,
  atRevision: AtRevision,
): Promise<SideRuns> {
  // A profile that is gone has its runs where it last stood.
  const home = now ?? side
  const runs: RunRecord[] = []
  const unknown: RunRecord[] = []
  const others: RunRecord[] = []
  const asked = new Map<string, PlacedProfile | undefined>()
  for (const run of runsOfProfile(home.workspace, home.uri, home.name)) {
    const { revision } = run
    if (revision !== undefined && !asked.has(revision)) asked.set(revision, await atRevision(revision))
    const made = revision === undefined ? home : asked.get(revision)
    if (made === undefined) unknown.push(run)
    const isOurs =
      made === undefined ? side.commit === undefined : made.commit === side.commit || sameSettings(side, made)
    if (isOurs) runs.push(run)
    else if (made !== undefined) others.push(run)
  }
  const notes: string[] = []
  if (unknown.length > 0 && side.commit === undefined) {
    notes.push(
      `${side.label}: the revision that ${named(unknown)} names is not to be had; taken as made with the values of now.`,
    )
  }
  if (others.length > 0) notes.push(`${side.label}: not counted, since made with other values: ${named(others)}.`)
  return { runs, notes }
}
