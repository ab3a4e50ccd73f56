import { type Allow, readChunk } from '../semantic/definitions.ts'
import { type Evaluation, evaluate } from '../semantic/evaluate.ts'
import type { Document, FileView } from '../workspace/workspace.ts'
import { checks } from './registry.ts'
import type { Check, Finding, Found, Severity } from './types.ts'

/** Runs the checks over a file and its profiles, and merges what they find into one sorted set. */

export type Severities = Readonly<Record<string, Severity | 'off'>>

/** A finding at its place in the file, in offsets of the file's text. */
export interface PlacedFinding {
  readonly finding: Finding
  readonly start: number
  readonly end: number
}

const profileChecks = checks.filter(check => check.inProfile !== undefined)
const fileChecks = checks.filter(check => check.inFile !== undefined)
const codes = checks.map(check => check.code)

/** Everything found in a profile, whatever the severities; evicted with the evaluation. */
const inProfile = new WeakMap<Evaluation, readonly (readonly [Check, Found])[]>()

function findInProfile(evaluation: Evaluation): readonly (readonly [Check, Found])[] {
  let found = inProfile.get(evaluation)
  if (found === undefined) {
    const profile = evaluation.profile.definition.name
    found = profileChecks.flatMap(check =>
      [...(check.inProfile?.(evaluation) ?? [])].map(one => [check, { profile, ...one }] as const),
    )
    inProfile.set(evaluation, found)
  }
  return found
}

/** The profiles of a file, evaluated. */
export function evaluations(view: FileView): readonly Evaluation[] {
  const profiles = view.document.definitions.filter(definition => definition.kind === 'profile')
  return profiles.map(definition => evaluate(view.scope, definition))
}

interface AllowUse {
  readonly allow: Allow
  used: boolean
}

function allowsOf(document: Document): AllowUse[] {
  return document.source.chunks.flatMap(({ chunk }) => readChunk(chunk).allows.map(allow => ({ allow, used: false })))
}

/** Allows of the profiles that a profile starts from hold for it too. */
function inheritedAllows(evaluation: Evaluation): Set<string> {
  const links = evaluation.profile.chain.slice(1)
  return new Set(
    links.flatMap(link =>
      readChunk(link.chunk)
        .allows.filter(allow => allow.definition === link.name)
        .map(allow => allow.code),
    ),
  )
}

function isAllowed(allows: readonly AllowUse[], code: string, found: Found): boolean {
  let allowed = false
  for (const entry of allows) {
    const { allow } = entry
    if (allow.code !== code) continue
    const covers = allow.covers
    const covered =
      covers === undefined ||
      (allow.chunk === found.at.chunk && found.at.start >= covers.start && found.at.end <= covers.end)
    if (covered) {
      entry.used = true
      allowed = true
    }
  }
  return allowed
}

const rank: Readonly<Record<Severity, number>> = { error: 0, warning: 1, information: 2, hint: 3 }

/**
 * All findings of one file.
 * @param severities severities that differ from the checks' own, by code; `off` leaves a check out.
 */
export function findAll(view: FileView, usedByOthers: boolean, severities: Severities = {}): readonly PlacedFinding[] {
  const { document } = view
  const allows = allowsOf(document)
  const context = { view, usedByOthers, codes }
  const found: (readonly [Check, Found])[] = fileChecks.flatMap(check =>
    [...(check.inFile?.(context) ?? [])].map(one => [check, one] as const),
  )
  for (const evaluation of evaluations(view)) {
    const inherited = inheritedAllows(evaluation)
    found.push(...findInProfile(evaluation).filter(([check]) => !inherited.has(check.code)))
  }
  const result: PlacedFinding[] = []
  const publish = (check: Check, one: Found): void => {
    const usual = one.severity ?? check.severity
    const severity = severities[check.code] ?? (check.severity === 'off' ? 'off' : usual)
    const base = document.starts.get(one.at.chunk)
    if (severity === 'off' || base === undefined || isAllowed(allows, check.code, one)) return
    result.push({ finding: { ...one, code: check.code, severity }, start: base + one.at.start, end: base + one.at.end })
  }
  for (const [check, one] of found) publish(check, one)
  const unused = checks.find(check => check.code === 'allow-unused')
  if (unused !== undefined) {
    for (const { allow, used } of allows) {
      // An unknown code has its own finding.
      if (used || !codes.includes(allow.code) || allow.code === unused.code) continue
      publish(unused, {
        at: { chunk: allow.chunk, start: allow.start, end: allow.end },
        message: `No finding of \`${allow.code}\` is left here. An allow that covers nothing hides the next slip: remove it.`,
        fixes: [
          {
            title: 'Remove this allow',
            edits: [{ chunk: allow.chunk, start: allow.start, end: allow.end, text: '' }],
            preferred: true,
          },
        ],
      })
    }
  }
  return result.sort(
    (a, b) =>
      a.start - b.start ||
      a.end - b.end ||
      rank[a.finding.severity] - rank[b.finding.severity] ||
      (a.finding.code < b.finding.code ? -1 : a.finding.code > b.finding.code ? 1 : 0),
  )
}
