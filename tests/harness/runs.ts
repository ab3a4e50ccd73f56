/** The runs of a file beside their predictions. */

import { readLog } from '../../server/bench/log/reader.ts'
import { type LogSource, memoryLogs } from '../../server/bench/log/source.ts'
import { type ComparedRun, compareRun } from '../../server/bench/run/compared.ts'
import { runRecords } from '../../server/bench/run/record.ts'
import type { Service } from '../../server/service.ts'
import { resolveUri } from '../../server/workspace/files.ts'
import type { FileView } from '../../server/workspace/workspace.ts'

/** The runs of a file, their logs read, beside their predictions. */
export async function comparedRuns(
  service: Service,
  uri: string,
  logs: LogSource = memoryLogs({}),
): Promise<{ readonly view: FileView; readonly runs: readonly ComparedRun[] }> {
  const view = service.workspace.view(uri)
  if (view === undefined) throw new Error(`${uri} is not loaded`)
  const runs: ComparedRun[] = []
  for (const record of runRecords(view.document.definitions)) {
    const address = record.log && resolveUri(uri, record.log.path)
    const log = record.log && (await readLog(logs, address ?? '', record.log))
    runs.push(compareRun(view.scope, record, log))
  }
  return { view, runs }
}
