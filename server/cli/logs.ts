/** Reads the logs of runs for the command, with its progress. */

import type { Service } from '../service.ts'
import type { AskedFile } from './files.ts'
import { control, type Io } from './io.ts'

const barWidth = 30
/** Logs smaller than this are read before a bar could be seen. */
const worthABar = 8_000_000

/** Reads the logs, and the revisions, that the files' runs name; a person at the terminal sees how far a large one is. */
export async function readLogs(service: Service, io: Io, files: readonly AskedFile[]): Promise<void> {
  let shown = false
  let last = -1
  const onProgress = (bytes: number, size: number | undefined): void => {
    if (!io.err.isTerminal || size === undefined || size < worthABar) return
    const done = Math.floor((bytes / size) * barWidth)
    if (done === last) return
    last = done
    shown = true
    const megabytes = (count: number): string => (count / 1e6).toFixed(0)
    io.err.write(
      `${control('\r')}[${'#'.repeat(done)}${'.'.repeat(barWidth - done)}] ${megabytes(bytes)} of ${megabytes(size)} MB `,
    )
  }
  for (const { uri } of files) await service.bench.loadLogs(uri, { onProgress, revisions: 'look-up' })
  if (shown) io.err.write(control('\r\u001b[K'))
}

/** Asks for the courses that runs of these files are compared with: they are followed with all that is pending. */
export function askForCourses({ bench }: Service, uris: readonly string[]): void {
  for (const uri of uris)
    for (const { courseLog } of bench.compared(uri)) if (typeof courseLog === 'object') courseLog.followed()
}
