/** A profile with all that it starts from, as a document that can only be read. */

import { normalizeUri } from '../workspace/files.ts'
import type { Feature } from './feature.ts'
import { answering, loaded, type Session } from './session.ts'

/**
 * Addresses are `detent-resolved:/SHOWN NAME?profile=NAME&file=ADDRESS`, the part behind the question mark encoded once
 * more. The path is for people: editors show its last piece.
 */
const resolvedScheme = 'detent-resolved'

function partsOf(uri: unknown): { readonly name: string; readonly file: string } | undefined {
  if (typeof uri !== 'string' || !uri.startsWith(`${resolvedScheme}:`)) return undefined
  const at = uri.indexOf('?')
  if (at < 0) return undefined
  try {
    const found = /^profile=([a-z0-9-]+)&file=(.+)$/s.exec(decodeURIComponent(uri.slice(at + 1)))
    return found === null ? undefined : { name: found[1] ?? '', file: found[2] ?? '' }
  } catch {
    return undefined
  }
}

async function textOf(session: Session, uri: unknown): Promise<string> {
  const parts = partsOf(uri)
  if (parts === undefined) return '# This address names no profile.\n'
  await session.scanned
  const file = await loaded(session, { uri: parts.file })
  const text = file === undefined ? undefined : session.service.features.resolved(file.uri, parts.name)
  return text ?? `# There is no profile \`${parts.name}\` in its file any more.\n`
}

export const resolvedProfiles: Feature = {
  advertise: client =>
    client.takesTextContent ? { workspace: { textDocumentContent: { schemes: [resolvedScheme] } } } : undefined,
  register: session => {
    const { textDocumentContent } = session.connection.workspace
    /** What was shown and the files it rests on; forgotten when the client is asked to fetch it again, which it does if it still shows it. */
    const shown = new Map<string, ReadonlySet<string>>()
    textDocumentContent.on(
      answering(session, 'Writing a profile out', { text: '' }, async ({ uri }) => {
        const text = await textOf(session, uri)
        const file = partsOf(uri)?.file
        if (file !== undefined) {
          const key = normalizeUri(file)
          const view = session.service.workspace.view(key)
          shown.set(uri, new Set([key, ...(view?.documents ?? []).map(document => document.uri)]))
        }
        return { text }
      }),
    )
    session.changed.add(uris => {
      for (const [uri, rests] of shown) {
        if (!uris.some(one => rests.has(one))) continue
        shown.delete(uri)
        textDocumentContent.refresh(uri).catch(() => undefined)
      }
    })
  },
}
