/** Whether what is shown of a profile can be relied on while its file is typed in. */

import { onceFor } from '../../grammar/once.ts'
import type { Definition } from '../semantic/definitions.ts'
import { type Evaluation, restsOn } from '../semantic/evaluate.ts'
import type { ResolvedProfile } from '../semantic/profile.ts'
import { readStateOf, readsWhole } from '../semantic/unread.ts'
import type { Document, FileView } from '../workspace/workspace.ts'

/** Whether a file that the view sees has lost a definition. */
export const hasLostDefinition = onceFor((view: FileView): boolean => view.documents.some(hasLostOne))

const hasLostOne = onceFor(({ source }: Document): boolean =>
  source.chunks.some(({ chunk }) => readStateOf(chunk).lostDefinition),
)

/** An expectation that is being typed changes no figure, but how many of them hold. */
const isTyped = (definition: Definition): boolean =>
  definition.match.children.some(({ sound, word }) => !sound && word?.word === 'expect')

/** Whether what a profile comes to can be relied on; where not, what was shown last of it may stay. */
export function isSettled(view: FileView, { input, profile }: Evaluation): boolean {
  return input.bench !== undefined && !hasLostDefinition(view) && allReads(profile)
}

const allReads = onceFor((profile: ResolvedProfile): boolean =>
  restsOn(profile).every(one => one === undefined || (readsWhole(one) && !isTyped(one))),
)
