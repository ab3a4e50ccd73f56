import type { TextEdit } from '../../grammar/printer.ts'
import type { PlacedFinding } from '../checks/run.ts'
import type { Fix } from '../checks/types.ts'
import type { Document, FileView, Workspace } from '../workspace/workspace.ts'
import { formattedEdits } from './formatted-edits.ts'

/** Quick fixes: the edits that the checks offer with their findings. */

export interface QuickFix {
  readonly title: string
  readonly preferred: boolean
  readonly finding: PlacedFinding
  /** Which of the finding's fixes it is, to find it again. */
  readonly index: number
}

/** Edits of one file, in order, in the offsets of its text. */
export interface FileEdits {
  readonly uri: string
  readonly edits: readonly TextEdit[]
}

/** The fixes of those findings that touch a stretch of the file. */
export function quickFixes(findings: readonly PlacedFinding[], start: number, end: number): readonly QuickFix[] {
  return findings
    .filter(one => one.start <= end && one.end >= start)
    .flatMap(finding =>
      (finding.finding.fixes ?? []).map((fix, index) => ({
        title: fix.title,
        preferred: fix.preferred === true,
        finding,
        index,
      })),
    )
}

function placed(view: FileView, fix: Fix): readonly FileEdits[] | undefined {
  const byFile = new Map<Document, TextEdit[]>()
  for (const { chunk, start, end, text } of fix.edits) {
    const document = view.documents.find(one => one.starts.has(chunk))
    const base = document?.starts.get(chunk)
    if (document === undefined || base === undefined) return undefined
    const edits = byFile.get(document) ?? []
    edits.push({ start: base + start, end: base + end, text })
    byFile.set(document, edits)
  }
  return [...byFile].map(([{ uri, source }, edits]) => {
    edits.sort((a, b) => a.start - b.start)
    return { uri, edits: formattedEdits(source, edits) }
  })
}

/** The edits of a fix, the lines they touch formatted; undefined where it no longer fits the text. */
export function fixEdits(
  workspace: Workspace,
  uri: string,
  finding: PlacedFinding,
  index: number,
): readonly FileEdits[] | undefined {
  const view = workspace.view(uri)
  const fix = finding.finding.fixes?.[index]
  return view === undefined || fix === undefined ? undefined : placed(view, fix)
}
