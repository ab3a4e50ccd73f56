/** Which findings a profile accepts wherever they stand: by its file, by its own block, by those it starts from. */
import { readChunk } from '../../semantic/definitions.ts'
import type { ResolvedProfile } from '../../semantic/profile.ts'
import type { FileView } from '../../workspace/workspace.ts'

export function acceptedCodes({ document }: FileView, { chain }: ResolvedProfile): ReadonlySet<string> {
  const ofFile = document.source.chunks.flatMap(({ chunk }) =>
    readChunk(chunk).allows.filter(({ covers }) => covers === undefined),
  )
  const ofProfiles = chain.flatMap(({ chunk, match }) =>
    readChunk(chunk).allows.filter(({ covers }) => covers?.start === match.statement.start),
  )
  return new Set([...ofFile, ...ofProfiles].map(({ code }) => code))
}
