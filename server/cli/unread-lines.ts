import type { Evaluation } from '../semantic/evaluate.ts'
import { type Service, unreadWith } from '../service.ts'
import { pathOfUri } from '../workspace/node-files.ts'
import { shownPath } from './files.ts'
import type { Io } from './io.ts'
import { linesOf } from './lines.ts'

/** `line 39`, `lines 39 and 41 of bench.detent`: what a prediction had to leave out because it does not read. */
export function unreadLines(service: Service, io: Io, uri: string, { profile }: Evaluation): string | undefined {
  const byFile = new Map<string, Set<number>>()
  const unread = unreadWith(profile)
  for (const document of unread.length === 0 ? [] : (service.workspace.view(uri)?.documents ?? [])) {
    const lines = linesOf(document.source.text)
    for (const { chunk, start } of unread) {
      const base = document.starts.get(chunk)
      if (base === undefined) continue
      const name = document.uri === uri ? '' : ` of ${shownPath(io, pathOfUri(document.uri) ?? document.uri)}`
      const numbers = byFile.get(name) ?? new Set()
      byFile.set(name, numbers.add(lines.at(base + start).line))
    }
  }
  const parts = [...byFile].map(([name, numbers]) => {
    const sorted = [...numbers].sort((a, b) => a - b)
    const last = sorted.pop()
    return sorted.length === 0 ? `line ${last}${name}` : `lines ${sorted.join(', ')} and ${last}${name}`
  })
  if (parts.length === 0) return undefined
  const isOne = parts.length === 1 && parts[0]?.startsWith('line ')
  return `predicted without ${parts.join(' and ')}, which ${isOne ? 'does' : 'do'} not read`
}
