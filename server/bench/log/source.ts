/** Where the bytes of logs come from, behind an interface, so that tests read from memory. */

export interface LogFile {
  /** In bytes; undefined where it is not known beforehand. */
  readonly size: number | undefined
  /** The file from its beginning, piece by piece. Throws where reading fails on the way. */
  chunks(): AsyncIterable<Uint8Array>
}

export interface LogSource {
  /** Undefined where there is no such file. Never throws. */
  open(uri: string): Promise<LogFile | undefined>
}

/** Logs in memory, given out in pieces of this many bytes. */
export function memoryLogs(logs: Readonly<Record<string, string | Uint8Array>>, pieceBytes = 65_536): LogSource {
  return {
    open: async uri => {
      const content = logs[uri]
      if (content === undefined) return undefined
      const bytes = typeof content === 'string' ? new TextEncoder().encode(content) : content
      return {
        size: bytes.length,
        chunks: async function* () {
          for (let at = 0; at < bytes.length; at += pieceBytes) yield bytes.subarray(at, at + pieceBytes)
        },
      }
    },
  }
}
