/** What a prediction left out, said beside it. */

import type { Chunk } from '../../grammar/tree.ts'
import type { Evaluation } from '../semantic/evaluate.ts'
import { doubtedOf, overlayName, type Service, shownPlace, unreadWith } from '../service.ts'
import { pathOfUri } from '../workspace/node-files.ts'
import { shownPath } from './files.ts'
import type { Io } from './io.ts'
import { lineNumbersText } from './lines.ts'

type Spot = { readonly chunk: Chunk; readonly start: number }

/** `line 39`, `lines 39 and 41 of bench.detent and line 3`; nothing where there is no spot. */
function linesText(service: Service, io: Io, uri: string, spots: readonly Spot[]): string | undefined {
  const byFile = new Map<string, Set<number>>()
  for (const document of spots.length === 0 ? [] : (service.workspace.view(uri)?.documents ?? [])) {
    for (const { chunk, start } of spots) {
      const base = document.starts.get(chunk)
      if (base === undefined) continue
      const place = shownPlace(document, base + start)
      const file = place.uri === uri ? '' : ` of ${shownPath(io, pathOfUri(place.uri) ?? place.uri)}`
      const name = place.overlay === undefined ? file : ` of ${overlayName(place.overlay)}`
      const numbers = byFile.get(name) ?? new Set()
      byFile.set(name, numbers.add(place.line))
    }
  }
  const parts = [...byFile].map(([name, numbers]) => `${lineNumbersText([...numbers].sort((a, b) => a - b))}${name}`)
  return parts.length === 0 ? undefined : parts.join(' and ')
}

/** What a prediction had to leave out because it does not read, and which of its values are far from what is usual. */
export function unreadLines(service: Service, io: Io, uri: string, { profile }: Evaluation): string | undefined {
  const unread = linesText(service, io, uri, unreadWith(profile))
  const doubted = linesText(service, io, uri, doubtedOf(profile))
  const isOne = unread?.startsWith('line ') === true && !unread.includes(' and ')
  const words = [
    ...(unread === undefined ? [] : [`predicted without ${unread}, which ${isOne ? 'does' : 'do'} not read`]),
    ...(doubted === undefined ? [] : [`predicted with a value far from what is usual: ${doubted}`]),
  ]
  return words.length === 0 ? undefined : words.join('; ')
}
