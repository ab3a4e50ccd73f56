/** The runs that were made with a part: in its own file, in those that it uses, and in those that use it. */

import type { ComparedRun } from '../../bench/run/compared.ts'
import { type RunRecord, runRecords } from '../../bench/run/record.ts'
import type { Definition } from '../../semantic/definitions.ts'
import { resolveProfile } from '../../semantic/profile.ts'
import type { FileView, Workspace } from '../../workspace/workspace.ts'
import { viewsAround } from '../around-part.ts'

export interface PartRuns {
  /** The file that the part stands in. */
  readonly uri: string
  readonly part: Definition
  /** How many runs have something measured. */
  readonly count: number
  /** The files that the runs stand in. */
  readonly files: readonly string[]
}

function isMadeWith({ scope }: FileView, { profile }: RunRecord, part: Definition): boolean {
  const found = scope.find('profile', profile)
  return found !== undefined && resolveProfile(scope, found).part === part
}

function isMeasured({ log, measured }: RunRecord): boolean {
  return log !== undefined || Object.keys(measured).length > 0
}

/** Nothing is predicted and no log is read for it. */
function runsOfPart(workspace: Workspace, view: FileView, part: Definition): PartRuns {
  const files: string[] = []
  let count = 0
  for (const one of viewsAround(workspace, view)) {
    const records = runRecords(one.document.definitions)
    const own = records.filter(record => isMeasured(record) && isMadeWith(one, record, part)).length
    if (own > 0) files.push(one.document.uri)
    count += own
  }
  return { uri: view.document.uri, part, count, files }
}

/** The parts that a file defines, with their runs. */
export function partsOf(workspace: Workspace, uri: string): readonly PartRuns[] {
  const view = workspace.view(uri)
  const parts = view?.document.definitions.filter(({ kind }) => kind === 'part') ?? []
  return view === undefined ? [] : parts.map(part => runsOfPart(workspace, view, part))
}

/** Those of a file's compared runs that were made with a part. */
export function madeWith(
  workspace: Workspace,
  uri: string,
  part: Definition,
  runs: readonly ComparedRun[],
): readonly ComparedRun[] {
  const view = workspace.view(uri)
  return view === undefined ? [] : runs.filter(({ record }) => isMadeWith(view, record, part))
}
