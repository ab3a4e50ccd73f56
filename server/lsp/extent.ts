/** Large files: what is done at once, what in slices, and what is left to the command. */

import { type Diagnostic, DiagnosticSeverity } from 'vscode-languageserver'
import type { Service } from '../service.ts'
import { type Extent, type FileView, isLonger } from '../workspace/workspace.ts'
import { createSlices, type Slices } from './turns.ts'

/**
 * In a file of this many lines, some 700 profiles, the predictions of all take seconds when it is opened, then some 60 ms an
 * edit and 200 MB; from there on both grow with the lines.
 */
export const extent: Extent = { predictedLines: 20_000 }

/** Says what is left out where a file is longer. */
export function noticeOf({ document }: FileView): Diagnostic | undefined {
  if (!isLonger(document.source.text, extent.predictedLines)) return undefined
  const most = extent.predictedLines.toLocaleString('en')
  const end = document.source.text.search(/\r|\n|$/)
  return {
    range: { start: { line: 0, character: 0 }, end: { line: 0, character: end } },
    severity: DiagnosticSeverity.Information,
    code: 'not-predicted',
    source: 'detent',
    message: `Not all is checked while you edit: this file has more than ${most} lines. Its text is checked, but findings that rest on predictions are not shown and expectations are not judged. Split it into files that \`use\` one another, or run \`detent check\`, which checks everything.`,
  }
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
 */
export async function prepareInSlices(
  { workspace, prepareFindings }: Service,
  uri: string,
  slices: Slices,
  isStale: () => boolean,
): Promise<void> {
  for (let view = workspace.view(uri), done = false; !done; ) {
    done = true
    for (const _ of prepareFindings(uri)) {
      const others = slices.rest()
      if (others === undefined) continue
      await others
      if (isStale()) return
      if (workspace.view(uri) === view) continue
      // The text changed meanwhile: what is left is looked for in the newest.
      view = workspace.view(uri)
      done = false
      break
    }
  }
}
