/** The profiles of runs as they were at the revisions that the runs name. */

import type { RunRecord } from '../bench/run/record.ts'
import type { RunRevision } from '../bench/run/settings.ts'
import type { Definition } from '../semantic/definitions.ts'
import type { Bounds } from '../workspace/bounds.ts'
import type { FileSystem } from '../workspace/files.ts'
import { createWorkspace, type FileView, type Workspace } from '../workspace/workspace.ts'

/** Files of a repository as they were; what `revisionOf` of the workspace's git gives. */
interface OlderFiles {
  readonly commit: string
  readonly files: FileSystem
  profilesBelow(folder: string): Promise<readonly string[]>
}

/** The files around an address at a revision. Rejects with one line for a person where they cannot be read. */
export type RevisionSource = (uri: string, revision: string) => Promise<OlderFiles>

export interface RunRevisions {
  /** What is there at once; undefined for a run that names no revision. */
  of(view: FileView, record: RunRecord): RunRevision | undefined
  /** Reads what a run needs of its revision; each revision is read once. */
  load(view: FileView, record: RunRecord): Promise<void>
}

interface Opened {
  readonly older: OlderFiles
  readonly workspace: Workspace
}

const folderOf = (uri: string): string => uri.slice(0, uri.lastIndexOf('/') + 1)

/** The file that a definition stands in. */
function fileOf(view: FileView, definition: Definition | undefined): string | undefined {
  return definition && view.documents.find(({ starts }) => starts.has(definition.chunk))?.uri
}

/** The file whose view has the profile as it was: the one where it stands now, else the run's, else any that had it. */
async function homeOf(view: FileView, { profile, definition }: RunRecord, opened: Opened): Promise<string | undefined> {
  const { workspace, older } = opened
  const own = fileOf(view, definition) ?? view.document.uri
  const uris = [fileOf(view, view.scope.find('profile', profile)) ?? own, own]
  await workspace.load(uris)
  const near = uris.find(uri => workspace.view(uri)?.scope.find('profile', profile) !== undefined)
  if (near !== undefined) return near
  const all = await older.profilesBelow(folderOf(own))
  await workspace.load(all)
  return all.find(uri =>
    workspace.document(uri)?.definitions.some(one => one.kind === 'profile' && one.name === profile),
  )
}

/**
 * @param source undefined where older revisions cannot be read at all
 * @param bounds which file may lead to which, then as now
 */
export function createRunRevisions(source: RevisionSource | undefined, bounds: Bounds): RunRevisions {
  /** By folder and revision, never evicted: a commit does not change. A branch that moves on stays as it was found first. */
  const opened = new Map<string, Promise<Opened | string>>()
  /** By file, revision and profile; never evicted either, and what could not be read is tried again. */
  const states = new Map<string, RunRevision>()
  const keyOf = (view: FileView, { revision, profile, definition }: RunRecord): string =>
    [fileOf(view, definition), revision, profile].join('\n')

  const open = (read: RevisionSource, uri: string, revision: string): Promise<Opened | string> => {
    const key = `${folderOf(uri)}\n${revision}`
    let found = opened.get(key)
    if (found === undefined) {
      found = read(uri, revision).then(
        older => ({ older, workspace: createWorkspace(older.files, undefined, bounds) }),
        (error: unknown) => {
          opened.delete(key)
          return (error instanceof Error ? error.message : String(error)).replace(/\.$/, '')
        },
      )
      opened.set(key, found)
    }
    return found
  }
  return {
    of: (view, record) => {
      if (record.revision === undefined) return undefined
      if (source === undefined) return { state: 'not-had', why: 'older revisions cannot be read here', isNowhere: true }
      return states.get(keyOf(view, record)) ?? { state: 'pending' }
    },
    load: async (view, record) => {
      const key = keyOf(view, record)
      if (record.revision === undefined || source === undefined || states.get(key)?.state === 'had') return
      const own = await open(source, fileOf(view, record.definition) ?? view.document.uri, record.revision)
      if (typeof own === 'string') {
        states.set(key, { state: 'not-had', why: own })
        return
      }
      const home = await homeOf(view, record, own)
      const scope = home === undefined ? undefined : own.workspace.view(home)?.scope
      states.set(
        key,
        scope === undefined
          ? { state: 'not-had', why: `that revision has no profile ${record.profile}` }
          : { state: 'had', scope },
      )
    },
  }
}
