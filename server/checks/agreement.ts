/**
 * Fixes of different findings that would write different things at one place: whoever takes one loses the other. None of
 * them is offered, unless both move the same number the same way, as two limits that lower one step.
 */

import type { Finding, Fix, FixEdit } from './types.ts'

interface Offer {
  readonly finding: Finding
  readonly fix: Fix
  readonly edit: FixEdit
}

const firstNumber = (text: string): number | undefined => {
  // A sign may stand apart from its number.
  const found = /[-+]?\d+(?:\.\d+)?/.exec(text.replace(/\s/g, ''))
  return found === null ? undefined : Number(found[0])
}

/** Which way an edit moves the number that it replaces; undefined where it does something else. */
function direction({ chunk, start, end, text }: FixEdit): number | undefined {
  const [before, after] = [firstNumber(chunk.text.slice(start, end)), firstNumber(text)]
  return before === undefined || after === undefined ? undefined : Math.sign(after - before)
}

function disagree(a: Offer, b: Offer): boolean {
  // One check knows what it says of one place: its findings there are taken one after the other.
  if (a.finding.code === b.finding.code || a.edit.chunk !== b.edit.chunk) return false
  // Two things put in at one place go together; only what is replaced can be replaced otherwise.
  if (a.edit.end <= b.edit.start || b.edit.end <= a.edit.start) return false
  if (a.edit.text === b.edit.text && a.edit.start === b.edit.start && a.edit.end === b.edit.end) return false
  const way = direction(a.edit)
  return way === undefined || way !== direction(b.edit)
}

/** The findings of one chunk without the fixes that disagree with each other. */
export function withoutDisagreement(findings: readonly Finding[]): readonly Finding[] {
  const offers = findings
    .flatMap(finding => (finding.fixes ?? []).flatMap(fix => fix.edits.map((edit): Offer => ({ finding, fix, edit }))))
    .sort((a, b) => a.edit.start - b.edit.start)
  const dropped = new Set<Fix>()
  for (const [index, offer] of offers.entries()) {
    const { end } = offer.edit
    for (let next = index + 1; (offers[next]?.edit.start ?? Number.POSITIVE_INFINITY) < end; next++) {
      const other = offers[next]
      if (other === undefined || !disagree(offer, other)) continue
      dropped.add(offer.fix)
      dropped.add(other.fix)
    }
  }
  if (dropped.size === 0) return findings
  return findings.map(finding => {
    const { fixes } = finding
    if (!fixes?.some(fix => dropped.has(fix))) return finding
    return { ...finding, fixes: fixes.filter(fix => !dropped.has(fix)) }
  })
}
