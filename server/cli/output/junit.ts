/**
 * JUnit XML: one suite for each file, one case for each expectation, so that any build server shows them. The library
 * writes the XML; libraries that lay out the report know neither the line of a case nor why one is skipped.
 */

import { create, type XMLElement } from 'xmlbuilder'
import { type Report, type ReportedExpectation, unreadText } from '../check-results.ts'

/** Characters that XML cannot hold are left out: a name in a file may have any. */
const options = { version: '1.0', encoding: 'UTF-8', invalidCharReplacement: '' } as const

function outcome(into: XMLElement, report: Report, expectation: ReportedExpectation): void {
  if (expectation.holds === true) return
  const text = report.predictedTexts.get(expectation)
  const figure = text === undefined ? 'there is no figure' : `predicted ${text}`
  if (expectation.holds === null) into.ele('skipped', { message: report.undecided.get(expectation) ?? figure })
  else into.ele('failure', { message: figure, type: 'expect-failed' })
}

/** Other findings of a file are reported beside the cases, so that a red run has its reason in it. */
function findingsOf({ findings }: Report, file: string): string {
  return findings
    .filter(finding => finding.file === file && finding.code !== 'expect-failed' && finding.code !== 'expect-undecided')
    .map(
      finding =>
        `${file}:${finding.line}:${finding.column}: ${finding.severity}: ${finding.message} [${finding.code}]\n`,
    )
    .join('')
}

/**
 * What does not read of a used file stands in a suite of its own name, where tools print what went to standard error: no case
 * fails of it, as it does not make the command fail.
 */
function unreadOf({ unread }: Report, file: string): string {
  return unread
    .filter(one => one.file === file)
    .flatMap(({ lines }) => lines.map(line => `${file}:${line}: ${unreadText}\n`))
    .join('')
}

function countsOf(expectations: readonly ReportedExpectation[]): Readonly<Record<string, number>> {
  const count = (holds: boolean | null): number => expectations.filter(one => one.holds === holds).length
  return { tests: expectations.length, failures: count(false), errors: 0, skipped: count(null) }
}

export function checkJUnit(report: Report): string {
  const { expectations, files, unread } = report
  const root = create('testsuites', options)
  root.att({ name: 'detent', ...countsOf(expectations) })
  const named = [...expectations, ...unread].map(({ file }) => file)
  for (const file of [...new Set([...files, ...named])].sort()) {
    const own = expectations.filter(expectation => expectation.file === file)
    const suite = root.ele('testsuite', { name: file, ...countsOf(own) })
    for (const expectation of own) {
      const { line, profile, text } = expectation
      outcome(suite.ele('testcase', { classname: profile, name: text, file, line }), report, expectation)
    }
    const findings = findingsOf(report, file)
    if (findings !== '') suite.ele('system-out', findings)
    const without = unreadOf(report, file)
    if (without !== '') suite.ele('system-err', without)
  }
  return `${root.end({ pretty: true })}\n`
}
