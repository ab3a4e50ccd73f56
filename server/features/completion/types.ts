/** What completion is asked and gives. */

import type { TextEdit } from '../../../grammar/printer.ts'
import type { DefinitionKind, Place } from '../../../grammar/vocabulary/index.ts'
import type { FileView, Workspace } from '../../workspace/workspace.ts'
import type { TypingPlace } from './place.ts'

/** What the documentation of an item is looked up by. */
export type CompletionTopic =
  | { readonly about: 'word'; readonly place: Place; readonly word: string }
  | {
      readonly about: 'name'
      readonly kind: DefinitionKind
      readonly name: string
      readonly uri: string
      readonly from: string
    }
  | { readonly about: 'check'; readonly code: string }

export interface Completion {
  readonly label: string
  readonly kind: 'key' | 'block' | 'word' | 'unit' | 'name' | 'row' | 'check' | 'file'
  readonly detail?: string
  /** The stretch of the file that is replaced. */
  readonly start: number
  readonly end: number
  readonly text: string
  readonly snippet?: string
  /** What the editor compares with the typed letters, where the label has signs that no keyboard has; else the label. */
  readonly filterText?: string
  /** Items are shown by this, then by label. */
  readonly rank: number
  readonly topic?: CompletionTopic
  /** Edits elsewhere in the same file. */
  readonly more?: readonly TextEdit[]
}

/** `invoked`: by a person or while typing a word; `typed`: by a character that may begin nothing at all. */
export type CompletionTrigger = 'invoked' | 'space' | 'quote'

export interface Context {
  readonly workspace: Workspace
  readonly view: FileView
  readonly at: TypingPlace
  readonly trigger: CompletionTrigger
  readonly start: number
  readonly end: number
}
