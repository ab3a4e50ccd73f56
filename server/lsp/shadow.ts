/** A bench of its own with the texts as they are now: overlaid, or compared with an older one. It reads no logs. */

import { createService, type Service } from '../service.ts'
import type { FileSystem } from '../workspace/files.ts'
import { prepareInSlices } from './extent.ts'
import { boundsOf } from './folders.ts'
import type { Session } from './session.ts'
import { createSlices, sliceMs, turn } from './turns.ts'

export interface Shadow {
  readonly service: Service
  /** Gives these files, and all that they use, the texts of now. */
  sync(uris: readonly string[]): Promise<void>
}

/** A bench of its own that reads these files, within the bounds of the session, and no logs. */
export function benchFrom(session: Session, files: FileSystem): Service {
  return createService(files, { bounds: boundsOf(() => session) })
}

export function createShadow(session: Session): Shadow {
  const { workspace } = session.service
  const service = benchFrom(session, {
    read: async uri => {
      const document = workspace.document(uri)
      return document === undefined ? session.files.read(uri) : new TextEncoder().encode(document.source.text)
    },
  })
  const own = service.workspace
  let version = 0
  return {
    service,
    sync: async uris => {
      for (let isSame = false; !isSame; ) {
        isSame = true
        // What was missing may be there by now.
        const missing = uris.flatMap(uri => own.view(uri)?.uses ?? []).filter(({ state }) => state === 'missing')
        own.forget(missing.flatMap(({ uri }) => uri ?? []))
        await own.load(uris)
        for (const { uri, source } of uris.flatMap(one => own.view(one)?.documents ?? [])) {
          const now = workspace.document(uri)?.source.text
          if (now === undefined || now === source.text) continue
          own.set(uri, now, ++version)
          isSame = false
        }
      }
    },
  }
}

/** Makes the runs over time that are waited for, in slices. @returns false where nobody waits any more */
export async function makeRuns({ runs }: Service, isStale: () => boolean): Promise<boolean> {
  while (runs.pending() > 0) {
    runs.makeSome(sliceMs)
    await turn('asked')
    if (isStale()) return false
  }
  return true
}

/** Makes what the expectations and findings of files rest on, in slices. @returns false where nobody waits any more */
export async function makeAll(service: Service, uris: readonly string[], isStale: () => boolean): Promise<boolean> {
  const slices = createSlices('asked')
  for (const uri of uris) {
    if (!(await prepareInSlices(service, uri, slices, isStale))) return false
    for (const evaluation of service.evaluations(uri)) service.expectations(evaluation)
  }
  return makeRuns(service, isStale)
}
