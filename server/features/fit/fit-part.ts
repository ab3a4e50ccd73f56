/** A part fitted to all runs that were made with it, whichever file they stand in. */

import type { TellSteps } from '../../bench/fit/rounds.ts'
import type { RunsFit } from '../../bench/fit/runs.ts'
import type { ComparedRun } from '../../bench/run/compared.ts'
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

/** How a fit is made beside other work. */
export interface FitPartOptions {
  /** Whether revisions that runs name are looked up, which starts git. */
  readonly revisions: LoadOptions['revisions']
  /** Called between a few looks at a log: whoever is waited for ends it by an error. */
  readonly rest: () => Promise<void>
  readonly tell: TellSteps
}

/**
 * Reads what the fit rests on and fits. Undefined where the file has no such part, or where a text that it rests on has
 * changed before it was made.
 */
export async function fitPart(
  workspace: Workspace,
  bench: BenchRuns,
  uri: string,
  name: string,
  { revisions, rest, tell }: FitPartOptions,
): Promise<RunsFit | undefined> {
  const find = (): PartRuns | undefined => partsOf(workspace, uri).find(({ part }) => part.name === name)
  for (const file of find()?.files ?? []) await bench.loadLogs(file, revisions === undefined ? {} : { revisions })
  const named = find()
  if (named !== undefined) await bench.loadCompanion(named.part)
  // Texts may have changed while the logs were read.
  const now = find()
  if (now === undefined) return undefined
  const restsOn = (): readonly unknown[] =>
    [uri, ...now.files].flatMap((file): readonly unknown[] => workspace.view(file)?.documents ?? [])
  const before = restsOn()
  const isSame = (): boolean => {
    const after = restsOn()
    return after.length === before.length && after.every((one, index) => one === before[index])
  }
  return inTurns(fitOfPart(workspace, bench, uri, now, tell), async () => {
    await rest()
    return isSame()
  })
}

/** Undefined where it is not to go on. */
async function inTurns<T>(slices: Generator<undefined, T>, goesOn: () => Promise<boolean>): Promise<T | undefined> {
  for (;;) {
    const { done, value } = slices.next()
    if (done === true) return value
    if (!(await goesOn())) return undefined
  }
}

function* fitOfPart(
  workspace: Workspace,
  bench: BenchRuns,
  uri: string,
  { part, files }: PartRuns,
  tell: TellSteps,
): Generator<undefined, RunsFit | undefined> {
  const runs: ComparedRun[] = []
  for (const file of files) runs.push(...madeWith(workspace, file, part, yield* bench.comparedInSlices(file)))
  return yield* bench.fitInSlices(uri, part.name, runs, tell)
}
