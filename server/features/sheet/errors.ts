/** The errors that a sheet has to say beside its values. */

import { findAll, type Severities } from '../../checks/run.ts'
import type { ResolvedProfile } from '../../semantic/profile.ts'
import type { FileView, Workspace } from '../../workspace/workspace.ts'

/** Expectations that fail are what the bench is there to find out; they are no reason to leave a value out. */
const noObstacles: ReadonlySet<string> = new Set(['expect-failed', 'expect-undecided'])

/** Messages of what is found at error level in a profile, and in the definitions that its values come from. */
export function errorsOf(
  workspace: Workspace,
  view: FileView,
  profile: ResolvedProfile,
  severities?: Severities,
): readonly string[] {
  const { definition, chain, part, cooler, board } = profile
  const rests = [...chain, part, cooler, board]
  const chunks = new Set(rests.flatMap(one => (one === undefined ? [] : [one.chunk])))
  const found = new Set<string>()
  for (const document of view.documents) {
    const own = workspace.view(document.uri)
    if (own === undefined || !document.source.chunks.some(({ chunk }) => chunks.has(chunk))) continue
    for (const { finding } of findAll(own, workspace.usersOf(document.uri).length > 0, severities)) {
      const { severity, code, at, message } = finding
      const isOurs = finding.profile === undefined || finding.profile === definition.name
      if (severity !== 'error' || noObstacles.has(code) || !isOurs || !chunks.has(at.chunk)) continue
      found.add(`${message} [${code}]`)
    }
  }
  return [...found]
}
