/**
 * SARIF 2.1.0 (OASIS standard, 27 March 2020), for code scanning. Written by hand to the standard's types: the one library
 * that builds it refuses a log for what a message happens to say.
 */

import { createHash } from 'node:crypto'
import type { Invocation, Location, Log, Region, ReportingDescriptor, Result } from 'sarif'
import type { Check, Severity } from '../../checks/types.ts'
import { checks, pageOf } from '../../service.ts'
import { type Report, type ReportedFinding, unreadText } from '../check-results.ts'
import { packageVersion } from '../version.ts'

/** SARIF has three levels that say something; information and hints share the lowest. */
const levels: Readonly<Record<Severity | 'off', 'error' | 'warning' | 'note' | 'none'>> = {
  error: 'error',
  warning: 'warning',
  information: 'note',
  hint: 'note',
  off: 'none',
}

function ruleOf(check: Check): ReportingDescriptor {
  const { code, title, page, severity } = check
  const parts = [page.what, page.why, page.remedy]
  return {
    id: code,
    shortDescription: { text: title },
    fullDescription: { text: page.what },
    help: {
      text: parts.join('\n\n'),
      markdown: `${parts.join('\n\n')}\n\n\`\`\`detent\n${page.example}\n\`\`\``,
    },
    defaultConfiguration: { enabled: severity !== 'off', level: levels[severity] },
    properties: { severity, page: pageOf(code) },
  }
}

/** A finding is the same one when its line only moved: recognized by code, file, profile and the line's text, and by which of equal ones it is. */
function fingerprints(report: Report): Map<ReportedFinding, string> {
  const seen = new Map<string, number>()
  const result = new Map<ReportedFinding, string>()
  for (const finding of report.findings) {
    const { code, file, profile = '', load = '', course = '', room = '' } = finding
    const text = report.lineTexts.get(finding)?.replace(/\s+/g, ' ') ?? ''
    const key = JSON.stringify([code, file, profile, load, room, text, ...(course === '' ? [] : [course])])
    const count = seen.get(key) ?? 0
    seen.set(key, count + 1)
    result.set(finding, createHash('sha256').update(`${key}${count}`).digest('hex').slice(0, 32))
  }
  return result
}

const addressOf = (file: string): string => file.split('/').map(encodeURIComponent).join('/')

const placeIn = (file: string, region: Region): Location => ({
  physicalLocation: { artifactLocation: { uri: addressOf(file) }, region },
})

function resultOf(finding: ReportedFinding, ruleIndex: number, fingerprint: string): Result {
  const { code, severity, message, file, line, column, endLine, endColumn, profile, load, course, room } = finding
  return {
    ruleId: code,
    ruleIndex,
    level: levels[severity],
    message: { text: message },
    locations: [
      {
        ...placeIn(file, { startLine: line, startColumn: column, endLine, endColumn }),
        ...(profile === undefined ? {} : { logicalLocations: [{ name: profile, kind: 'profile' }] }),
      },
    ],
    partialFingerprints: { 'detentFinding/v1': fingerprint },
    properties: {
      severity,
      ...(load === undefined ? {} : { load }),
      ...(course === undefined ? {} : { course }),
      ...(room === undefined ? {} : { room }),
    },
  }
}

/** What does not read of used files is no result of those that are checked; the run says what it went without. */
function invocationOf({ unread }: Report): Invocation {
  return {
    executionSuccessful: true,
    toolExecutionNotifications: unread.flatMap(({ file, lines }) =>
      lines.map(line => ({
        level: 'warning' as const,
        message: { text: unreadText },
        locations: [placeIn(file, { startLine: line })],
      })),
    ),
  }
}

export function checkSarif(report: Report): string {
  const index = new Map(checks.map((check, position) => [check.code, position]))
  const prints = fingerprints(report)
  const log: Log = {
    $schema: 'https://json.schemastore.org/sarif-2.1.0.json',
    version: '2.1.0',
    runs: [
      {
        tool: {
          driver: { name: 'detent', semanticVersion: packageVersion(), rules: checks.map(ruleOf) },
        },
        ...(report.unread.length === 0 ? {} : { invocations: [invocationOf(report)] }),
        columnKind: 'utf16CodeUnits',
        results: report.findings.map(finding =>
          resultOf(finding, index.get(finding.code) ?? -1, prints.get(finding) ?? ''),
        ),
      },
    ],
  }
  return `${JSON.stringify(log, undefined, 2)}\n`
}
