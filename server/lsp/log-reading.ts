/** Logs are read while nobody waits, or for a paper; a large one takes seconds. */

import type { CancellationToken } from 'vscode-languageserver'
import { fitPart, type LogSource, partsOf, type RunsFit } from '../service.ts'
import { type Count, telling, tokenIn, type Work } from './progress.ts'
import { revisionsFor } from './revisions.ts'
import { cancelled, type Session } from './session.ts'
import { createSlices } from './turns.ts'

/** So much of a log is taken in a slice: some four milliseconds of work. */
const pieceBytes = 32_768

/** Logs that are read a piece at a time; after each slice whatever a person waits for comes first. */
export function inTurns(source: LogSource): LogSource {
  async function* pieces(chunks: AsyncIterable<Uint8Array>): AsyncIterable<Uint8Array> {
    const slices = createSlices('folders')
    for await (const chunk of chunks) {
      for (let at = 0; at < chunk.length; at += pieceBytes) {
        await slices.rest()
        yield chunk.subarray(at, at + pieceBytes)
      }
    }
  }
  return {
    open: async uri => {
      const file = await source.open(uri)
      return file && { size: file.size, chunks: () => pieces(file.chunks()) }
    },
  }
}

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
  return service.bench.logs(uri, 'own').some(({ reading }) => reading === undefined)
}

/** Fits go on for so long at a time; a look at a long log takes two milliseconds more. */
const fitSliceMs = 5

/**
 * The fit of a part to its runs, whose logs are read first; made in slices, and ended where it is taken back.
 * @returns undefined where there is no such part, or a text that it rests on has changed meanwhile
 */
export function fitInTurns(
  session: Session,
  uri: string,
  part: string,
  { token, workDoneToken }: { readonly token: CancellationToken; readonly workDoneToken?: unknown },
): { readonly work: Work; readonly make: () => Promise<RunsFit | undefined> } {
  const { workspace, bench } = session.service
  const files = partsOf(session.service.workspace, uri).find(one => one.part.name === part)?.files ?? []
  let steps: Count | undefined
  const slices = createSlices('asked', fitSliceMs)
  const make = (): Promise<RunsFit | undefined> =>
    fitPart(workspace, bench, uri, part, {
      revisions: revisionsFor(session),
      rest: async () => {
        await slices.rest()
        if (token.isCancellationRequested) throw cancelled
      },
      tell: (done, of) => {
        steps = { done, of, what: 'step' }
      },
    })
  const count = (): Count | undefined => steps ?? logCount(session, files)
  return { work: { title: `Fitting ${part}`, count, given: tokenIn(workDoneToken) }, make }
}
