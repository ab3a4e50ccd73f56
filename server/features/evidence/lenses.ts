/** Lines above what is stated or known of voltages: what trials show of it. */
import type { Span } from '../../../grammar/tree.ts'
import { hasNeeds, needsTables } from '../../bench/evidence/needs-tables.ts'
import { entry } from '../../semantic/definitions.ts'
import type { Workspace } from '../../workspace/workspace.ts'
import type { BenchRuns } from '../bench-runs.ts'
import { ledgerSummary } from './words.ts'

export interface EvidenceLens extends Span {
  readonly part: string
  readonly text: string
}

/** At `needs`, or at `known` where there is none, of each part that something was tried of; a few milliseconds at a time. */
export function* evidenceLenses(
  workspace: Workspace,
  bench: BenchRuns,
  uri: string,
): Generator<undefined, readonly EvidenceLens[]> {
  const document = workspace.document(uri)
  const found: EvidenceLens[] = []
  for (const part of document?.definitions ?? []) {
    const table = part.kind === 'part' ? (entry(part.match, 'needs') ?? entry(part.match, 'known')) : undefined
    const base = document?.starts.get(part.chunk)
    if (base === undefined || (table === undefined && !(part.kind === 'part' && hasNeeds(part)))) continue
    const evidence = yield* bench.evidenceInSlices(part)
    if (evidence === undefined) continue
    // At the rows of each group that has its own.
    for (const one of evidence.groups === undefined ? [] : needsTables(part, evidence)) {
      const { statement } = one.table
      const text = `Trials: ${ledgerSummary(one.evidence)}`
      found.push({ start: base + statement.start, end: base + statement.end, part: part.name, text })
    }
    if (table === undefined || evidence.groups !== undefined) continue
    const [start, end] = [base + table.statement.start, base + table.statement.end]
    found.push({ start, end, part: part.name, text: `Trials: ${ledgerSummary(evidence)}` })
  }
  return found
}
