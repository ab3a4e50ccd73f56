/** Logs are read while nobody waits, or for a paper; a large one takes seconds. */

import { partsOf } from '../service.ts'
import { type Count, telling, tokenIn, type Work } from './progress.ts'
import type { Session } from './session.ts'

/** How many of the logs that files see are read. */
function logCount({ service }: Session, files: readonly string[]): Count | undefined {
  const logs = new Map(
    files.flatMap(file => service.bench.logs(file, 'seen').map(({ uri, reading }) => [uri, reading !== undefined])),
  )
  const done = [...logs.values()].filter(isRead => isRead).length
  return logs.size === 0 ? undefined : { done, of: logs.size, what: 'log' }
}

/** Reads the logs that the runs of files name. */
export async function readLogs(session: Session, files: readonly string[]): Promise<void> {
  const work: Work = { title: 'Reading logs', count: () => logCount(session, files) }
  await telling(session, work, async () => {
    for (const file of files) await session.service.bench.loadLogs(file)
  })
}

/** Whether a file has runs whose logs are not read yet. */
export function hasUnreadLogs({ service }: Session, uri: string): boolean {
  const hasRuns = service.workspace.document(uri)?.definitions.some(({ kind }) => kind === 'run') === true
  return hasRuns && service.bench.compared(uri).some(run => run.record.log !== undefined && run.log === undefined)
}

/** The fit of a part to its runs, whose logs are read first. */
export function fitWork(session: Session, uri: string, part: string, workDoneToken?: unknown): Work {
  const files = partsOf(session.service.workspace, uri).find(one => one.part.name === part)?.files ?? []
  return { title: `Fitting ${part}`, count: () => logCount(session, files), given: tokenIn(workDoneToken) }
}
