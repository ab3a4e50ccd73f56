/** Files and logs as tests give them: texts in memory, and logs from anywhere on this machine. */
import type { LogSource } from '../../server/bench/log/source.ts'
import type { FileSystem } from '../../server/workspace/files.ts'
import { logsWithin } from '../../server/workspace/node-files.ts'

/** A file system of texts in memory. */
export function memoryFiles(files: Readonly<Record<string, string | Uint8Array>>): FileSystem {
  const encoder = new TextEncoder()
  return {
    read: async uri => {
      const content = files[uri]
      return typeof content === 'string' ? encoder.encode(content) : content
    },
  }
}

export const nodeLogs: LogSource = logsWithin(() => undefined)
