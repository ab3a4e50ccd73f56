/** How much is done for a text: a count of steps, the same on any machine, in place of a time. */

import { spawn } from 'node:child_process'
import { Session } from 'node:inspector/promises'
import { json } from 'node:stream/consumers'
import { fileURLToPath } from 'node:url'

/** What is done with a text: read, matched and formatted; checked, with all its findings; or completed at an offset. */
export type Job =
  | { readonly what: 'read' | 'check'; readonly text: string }
  | { readonly what: 'complete'; readonly text: string; readonly offset: number }

/**
 * Stretches of code without a branch that are run for each of these jobs, as the engine counts them, in a process of its own;
 * what is done within a function of the language itself counts once, so a regular expression has a test of its own. Functions
 * that the engine writes into others are not counted: two counts of one job differ by less than a third.
 */
export async function workOf(jobs: readonly Job[]): Promise<readonly number[]> {
  const child = spawn(process.execPath, [fileURLToPath(import.meta.url)], { stdio: ['pipe', 'pipe', 'inherit'] })
  child.stdin.end(JSON.stringify(jobs))
  return (await json(child.stdout)) as readonly number[]
}

/**
 * How much more is done for a text of `times` the size, for each of these texts: about `times` where the work grows with the
 * text alone, about its square where each part looks at all others.
 */
export async function growthOf(
  what: 'read' | 'check',
  textsOf: readonly ((size: number) => string)[],
  size: number,
  times: number,
): Promise<readonly number[]> {
  const sizes = [size, size * times]
  const counts = await workOf(textsOf.flatMap(textOf => sizes.map(one => ({ what, text: textOf(one) }))))
  return textsOf.map((_, at) => (counts[at * 2 + 1] ?? Number.NaN) / (counts[at * 2] ?? Number.NaN))
}

if (process.argv[1] === fileURLToPath(import.meta.url)) {
  const session = new Session()
  session.connect()
  await session.post('Profiler.enable')
  // Before the sources are loaded: only what is compiled from here on is counted stretch by stretch.
  await session.post('Profiler.startPreciseCoverage', { callCount: true, detailed: true })
  const [{ createService }, { memoryLogs }, { memoryFiles }, { parseFile }, { matchChunk }, { format }] =
    await Promise.all([
      import('../../server/service.ts'),
      import('../../server/bench/log/source.ts'),
      import('./file-systems.ts'),
      import('../../grammar/file.ts'),
      import('../../grammar/match.ts'),
      import('../../grammar/printer.ts'),
    ])

  /** Gets a job ready; what is then done is counted. */
  const prepared = async (job: Job): Promise<() => unknown> => {
    if (job.what === 'read')
      return () => {
        const file = parseFile(job.text)
        for (const { chunk } of file.chunks) matchChunk(chunk)
        return [format(file), parseFile(`${job.text} `, file)]
      }
    const uri = 'file:///bench/a.detent'
    const service = createService(memoryFiles({ [uri]: job.text }), { logs: memoryLogs({}) })
    if (job.what === 'complete') {
      await service.workspace.load([uri])
      return () => service.features.completions(uri, job.offset, 'space')
    }
    return async () => {
      await service.workspace.load([uri])
      return service.findings(uri)
    }
  }

  const counts: number[] = []
  for (const job of (await json(process.stdin)) as readonly Job[]) {
    const run = await prepared(job)
    await session.post('Profiler.takePreciseCoverage')
    await run()
    const { result } = await session.post('Profiler.takePreciseCoverage')
    const ranges = result
      .filter(({ url }) => url.startsWith('file:'))
      .flatMap(({ functions }) => functions.flatMap(one => one.ranges))
    counts.push(ranges.reduce((sum, { count }) => sum + count, 0))
  }
  process.stdout.write(JSON.stringify(counts))
}
