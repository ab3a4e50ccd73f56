/** The expectations of a file's profiles and what they come to: for `check`, and for editors that show them as tests. */

import type { Span } from '../../grammar/tree.ts'
import { failedCourseText } from '../checks/support/course-words.ts'
import { expectedText, failedText, predictedText } from '../checks/support/expect-words.ts'
import { settingPlace } from '../checks/support/place.ts'
import { type Evaluation, evaluate } from '../semantic/evaluate.ts'
import type { Expectation, Judge } from '../semantic/expectations.ts'
import { expectationKey } from '../semantic/profile.ts'
import { type Document, definitionsIn, type Workspace } from '../workspace/workspace.ts'

export interface ExpectationLine {
  readonly evaluation: Evaluation
  readonly expectation: Expectation
  /** Where it stands in the asked file: at its line, or where the profile starts from another that states it. */
  readonly at: Span
  /** The file and the place where it is written. */
  readonly home: Document
  readonly written: Span
  /** What it is about, whatever is asked of it: load, figure and comparison. */
  readonly about: string
  /** `at least 4.7 GHz` */
  readonly expected: string
  /** `4.653 GHz`; undefined where there is no figure. */
  readonly predicted: string | undefined
  /** Why it does not hold, or why it is undecided; undefined where it holds. */
  why(): string | undefined
}

function whyNot(evaluation: Evaluation, expectation: Expectation): string | undefined {
  const { holds, worst, undecided, courseWorst } = expectation
  if (holds === true) return undefined
  if (holds === false && courseWorst !== undefined) return failedCourseText(expectation)
  return holds === false && worst !== undefined ? failedText(evaluation, expectation, worst) : undecided
}

/**
 * The expectations of each profile of a file, inherited ones among them; none for a file that is not loaded.
 * @param within a stretch of the file: those of profiles that do not touch it are left out
 */
export function expectationLines(
  workspace: Workspace,
  uri: string,
  judge: Judge,
  within?: Span,
): readonly ExpectationLine[] {
  const view = workspace.view(uri)
  if (view === undefined) return []
  const touched = within && new Set(definitionsIn(view.document, within))
  const profiles = touched === undefined ? view.predicted : view.predicted.filter(one => touched.has(one))
  return profiles.flatMap(definition => {
    const evaluation = evaluate(view.scope, definition)
    return judge(evaluation).map((expectation): ExpectationLine => {
      const { sourced } = expectation
      const place = settingPlace(evaluation.profile, sourced)
      const base = view.document.starts.get(place.chunk) ?? 0
      const { chunk } = sourced.definition
      const home = view.documents.find(document => document.starts.has(chunk)) ?? view.document
      const start = home.starts.get(chunk) ?? 0
      const { statement } = sourced.match
      return {
        evaluation,
        expectation,
        at: { start: base + place.start, end: base + place.end },
        home,
        written: { start: start + statement.start, end: start + statement.end },
        about: expectationKey(sourced.match),
        expected: expectedText(expectation),
        predicted: predictedText(expectation),
        why: () => whyNot(evaluation, expectation),
      }
    })
  })
}
