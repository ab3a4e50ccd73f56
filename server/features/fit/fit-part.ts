/** A part fitted to all runs that were made with it, whichever file they stand in. */

import type { RunsFit } from '../../bench/fit/runs.ts'
import type { Definition } from '../../semantic/definitions.ts'
import type { Workspace } from '../../workspace/workspace.ts'
import type { BenchRuns, LoadOptions } from '../bench-runs.ts'
import { madeWith, type PartRuns, partsOf } from './part-runs.ts'

/** The parts whose head, from the word `part` to the name, is touched by a stretch of the file. */
export function partsAt(workspace: Workspace, uri: string, start: number, end: number): readonly Definition[] {
  const { starts, definitions } = workspace.document(uri) ?? {}
  return (definitions ?? []).filter(({ kind, chunk, match, nameSpan }) => {
    const base = starts?.get(chunk) ?? 0
    return kind === 'part' && base + match.statement.start <= end && base + nameSpan.end >= start
  })
}

/**
 * Reads what the fit rests on and fits. Undefined where the file has no such part.
 * @param revisions whether those that runs name are looked up, which starts git
 */
export async function fitPart(
  workspace: Workspace,
  bench: BenchRuns,
  uri: string,
  name: string,
  revisions: LoadOptions['revisions'],
): Promise<RunsFit | undefined> {
  const find = (): PartRuns | undefined => partsOf(workspace, uri).find(({ part }) => part.name === name)
  for (const file of find()?.files ?? []) await bench.loadLogs(file, revisions === undefined ? {} : { revisions })
  // Texts may have changed while the logs were read.
  const now = find()
  if (now === undefined) return undefined
  const runs = now.files.flatMap(file => madeWith(workspace, file, now.part, bench.compared(file)))
  return bench.fit(uri, name, runs)
}
