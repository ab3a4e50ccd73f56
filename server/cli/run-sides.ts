import type { RunRecord } from '../bench/runs.ts'
import { profileIn, runsOfProfile, setsTheSame } from '../service.ts'
import { UnusableCall } from './io.ts'
import { type Loaded, type NamedProfile, profileAtRevision } from './named-profiles.ts'

/** Which runs were made with which settings: a run may name the revision of its profile. */

export interface SideRuns {
  readonly runs: readonly RunRecord[]
  readonly notes: readonly string[]
}

/** Profiles at revisions that runs name; undefined where git has no such revision or profile. */
type AtRevision = (revision: string) => Promise<NamedProfile | undefined>

function profilesAtRevisions(loaded: Loaded, name: string): AtRevision {
  const known = new Map<string, Promise<NamedProfile | undefined>>()
  return revision => {
    let found = known.get(revision)
    if (found === undefined) {
      found = profileAtRevision(loaded, name, revision).catch(error => {
        if (error instanceof UnusableCall) return undefined
        throw error
      })
      known.set(revision, found)
    }
    return found
  }
}

function sameSettings(side: NamedProfile, other: NamedProfile): boolean {
  const [a, b] = [side, other].map(({ service, uri, name }) => profileIn(service.workspace, uri, name))
  return a !== undefined && b !== undefined && setsTheSame(a, b)
}

function named(runs: readonly RunRecord[]): string {
  return runs.map(({ name }) => name).join(', ')
}

/**
 * The runs that were made with the settings of a side. A run that names no revision was made with the profile as it is
 * now; one whose revision cannot be had is taken for that as well, and it is said.
 */
export async function runsOfSide(loaded: Loaded, now: NamedProfile | undefined, side: NamedProfile): Promise<SideRuns> {
  // A profile that is gone has its runs where it last stood.
  const home = now ?? side
  const all = runsOfProfile(home.service.workspace, home.uri, home.name)
  const atRevision = profilesAtRevisions(loaded, side.name)
  const runs: RunRecord[] = []
  const unknown: RunRecord[] = []
  const others: RunRecord[] = []
  for (const run of all) {
    const made = run.revision === undefined ? home : await atRevision(run.revision)
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
