/** Long files: what is done at once, what in slices, and what comes first. */

import { type Diagnostic, DiagnosticSeverity } from 'vscode-languageserver'
import type { Span } from '../../grammar/tree.ts'
import { grouped, type Service } from '../service.ts'
import { type Extent, type FileView, isLonger, isWhole } from '../workspace/workspace.ts'
import type { Session } from './session.ts'
import { createSlices, type Slices } from './turns.ts'

/**
 * In a file of this many lines, some 700 profiles, the predictions of all take seconds when it is opened: from there on those
 * that a person sees come first, and their findings do not wait for the others.
 */
export const extent: Extent = { predictedLines: 20_000 }

/** Says that findings are still to come where that is so. */
export function noticeOf(view: FileView): Diagnostic | undefined {
  if (isWhole(view)) return undefined
  const { document, predicted, profiles } = view
  const end = document.source.text.search(/\r|\n|$/)
  return {
    range: { start: { line: 0, character: 0 }, end: { line: 0, character: end } },
    severity: DiagnosticSeverity.Information,
    code: 'not-predicted',
    source: 'detent',
    message: `Not everything is predicted yet: ${grouped(predicted.length)} of ${grouped(profiles.length)} profiles so far, those in view first. Findings in the others will follow.`,
  }
}

/** So many characters from its beginning are what a person sees of a file before anything tells. */
const FIRST_SCREEN = 4000

/** Where a person looks in a long file that is open; undefined for a file whose profiles are all predicted at once. */
export function seenIn({ service, seen, open }: Session, uri: string): Span | undefined {
  const text = service.workspace.document(uri)?.source.text
  if (text === undefined || !open.has(uri) || !isLonger(text, extent.predictedLines)) return undefined
  return seen.get(uri) ?? { start: 0, end: FIRST_SCREEN }
}

/**
 * What work in slices comes to, with messages let in between.
 * @param check throws where nobody waits for it any more
 */
export async function finishedInSlices<T>(work: Generator<undefined, T>, check?: () => void): Promise<T> {
  const slices = createSlices('asked')
  for (;;) {
    const { done, value } = work.next()
    if (done === true) return value
    const others = slices.rest()
    if (others === undefined) continue
    await others
    check?.()
  }
}

/**
 * Makes what the findings of a file rest on, in slices.
 * @param isStale whether nobody waits for the findings any more
 * @param seen the stretch whose profiles come first: with it the others are waited for no longer than a slice
 * @returns whether all of it is made
 */
export async function prepareInSlices(
  { workspace, prepareFindings }: Service,
  uri: string,
  slices: Slices,
  isStale: () => boolean,
  seen?: Span,
): Promise<boolean> {
  for (let view = workspace.view(uri); ; ) {
    let isAgain = false
    let isSeen = false
    for (const step of prepareFindings(uri, seen)) {
      if (step === 'seen') isSeen = true
      const others = slices.rest()
      if (others === undefined) continue
      await others
      if (isSeen || isStale()) return false
      if (workspace.view(uri) === view) continue
      // The text changed meanwhile: what is left is looked for in the newest.
      view = workspace.view(uri)
      isAgain = true
      break
    }
    if (!isAgain) return true
  }
}
