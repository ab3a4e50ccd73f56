/** What a check is made of, and what it finds. */

import type { Chunk, Span } from '../../grammar/tree.ts'
import type { PartEvidence } from '../bench/evidence/evidence.ts'
import type { ComparedRun } from '../bench/run/compared.ts'
import type { Definition } from '../semantic/definitions.ts'
import type { Evaluation } from '../semantic/evaluate.ts'
import type { Evidence } from '../semantic/evidence.ts'
import type { GroupView } from '../semantic/group-view.ts'
import type { FileView } from '../workspace/workspace.ts'

export type Severity = 'error' | 'warning' | 'information' | 'hint'

/** A stretch of a chunk; the file it lies in is looked up when the finding is published. */
export interface Place extends Span {
  readonly chunk: Chunk
}

export interface FixEdit extends Place {
  readonly text: string
}

/** One edit, or a few that belong together, that fixes a finding. */
export interface Fix {
  readonly title: string
  readonly edits: readonly FixEdit[]
  /** The one that a person would take without thinking. */
  readonly preferred?: true
}

/** What a check finds; its code and usual severity are the check's. */
export interface Found {
  readonly at: Place
  /** What is wrong, why it matters on the bench, what to do. */
  readonly message: string
  /** Where it differs from the check's own. */
  readonly severity?: Severity
  readonly profile?: string
  readonly load?: string
  readonly course?: string
  readonly room?: string
  /** The group of cores that it is about, on a part that has several. */
  readonly group?: string
  readonly fixes?: readonly Fix[]
  readonly related?: readonly { readonly at: Place; readonly message: string }[]
}

export interface Finding extends Omit<Found, 'severity'> {
  readonly code: string
  /** Address of the check's page, relative to the top of the project. */
  readonly page: string
  readonly severity: Severity
}

/** What the bench has shown, as far as findings rest on it. */
export interface BenchFacts {
  /** The runs of the file beside their predictions, as far as their logs are read. */
  readonly runs: readonly ComparedRun[]
  /** What the runs of all loaded files show of a part's voltages; undefined where nothing was tried. */
  evidence(part: Definition | undefined): PartEvidence | undefined
  /** The same, a few milliseconds at a time. */
  evidenceInSlices(part: Definition | undefined): Generator<undefined, PartEvidence | undefined>
}

/** What a check of one file sees. */
export interface FileContext extends BenchFacts {
  readonly view: FileView
  /** Whether other loaded files use this one. */
  readonly usedByOthers: boolean
  /** Codes of all checks, for `allow`. */
  readonly codes: readonly string[]
}

/** What a check of one profile sees: the profile, its input and its predictions. */
export type ProfileContext = Evaluation

/** One check: everything about it stands in its file. */
export interface Check {
  /** Stable; it is used in settings, in `allow` and in other people's scripts. */
  readonly code: string
  readonly severity: Severity | 'off'
  /** One line, for lists. */
  readonly title: string
  /** The reference page: what it looks at, why it matters on the bench, what to do. */
  readonly page: {
    readonly what: string
    readonly why: string
    readonly remedy: string
    /** A file, or part of one, that has the finding. */
    readonly example: string
    /** Whether a faulty example of a part with groups of cores stands beside the check's own. */
    readonly hasGroupExample?: true
  }
  /**
   * The settings in which the mistake is made, where it is made in a few alone: a profile that inherits all of them from
   * one that has the finding is not reported again, however its figures differ.
   */
  readonly rests?: readonly string[]
  /** For what one definition's text alone decides; found once for a chunk, and kept while its text stands. */
  readonly inChunk?: (chunk: Chunk) => Iterable<Found>
  readonly inFile?: (context: FileContext) => Iterable<Found>
  /** For what each group of cores decides by its own rows and counts: its message then begins with the group's name. */
  readonly inGroup?: (profile: GroupView) => Iterable<Found>
  /** @param evidence what trials show of the voltages of the profile's part */
  readonly inProfile?: (context: ProfileContext, evidence?: Evidence) => Iterable<Found>
}
