/** The parts of files with what trials show of them, and the rows that this would write. */
import type { PartEvidence } from '../../bench/evidence/evidence.ts'
import { type NeedsEdit, needsEdits } from '../../bench/evidence/needs-edits.ts'
import { needsTables } from '../../bench/evidence/needs-tables.ts'
import type { Definition } from '../../semantic/definitions.ts'
import type { Workspace } from '../../workspace/workspace.ts'
import type { BenchRuns } from '../bench-runs.ts'

export interface PartLedger {
  /** The file that the part stands in. */
  readonly uri: string
  readonly part: Definition
  /** Undefined where nothing was tried. */
  readonly evidence: PartEvidence | undefined
}

/** The parts that files define or see, each once. */
export function partLedgers(workspace: Workspace, bench: BenchRuns, uris: readonly string[]): readonly PartLedger[] {
  const documents = new Set(uris.flatMap(uri => workspace.view(uri)?.documents ?? []))
  return [...documents].flatMap(({ uri, definitions }) =>
    definitions.filter(({ kind }) => kind === 'part').map(part => ({ uri, part, evidence: bench.evidence(part) })),
  )
}

/** An edit in offsets of the file. */
export interface LedgerEdit {
  readonly start: number
  readonly end: number
  readonly text: string
}

/**
 * The edits that state what trials show in the place of the stated rows, of those that trials tell something of; none
 * where one of them is beyond the voltages that are allowed for the part.
 */
export function ledgerEdits(workspace: Workspace, { uri, part, evidence }: PartLedger): readonly LedgerEdit[] {
  const base = workspace.document(uri)?.starts.get(part.chunk)
  if (base === undefined || evidence === undefined) return []
  return needsTables(part, evidence).flatMap(({ table, evidence: own, isShared }) => {
    // What one of several groups needs is no row for all of them.
    if (isShared) return []
    const told = own.ledger.rows.filter(({ word }) => word !== 'untested' && word !== 'unclear')
    return (needsEdits(part, told, table) ?? []).map(({ start, end, text }: NeedsEdit) => {
      return { start: base + start, end: base + end, text }
    })
  })
}
