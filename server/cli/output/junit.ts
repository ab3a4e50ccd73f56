import type { Report, ReportedExpectation } from '../check-results.ts'

/** JUnit XML: one suite for each file, one case for each expectation, so that any build server shows them. */

/** Characters that XML cannot hold at all are dropped; the rest is escaped. */
function escapeXml(text: string): string {
  const characters: Readonly<Record<string, string>> = { '<': '&lt;', '>': '&gt;', '&': '&amp;', '"': '&quot;' }
  return text
    .replace(/[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\u{10000}-\u{10ffff}]/gu, '')
    .replace(/[<>&"]/g, character => characters[character] ?? '')
}

const attribute = (name: string, value: string | number): string =>
  ` ${name}="${escapeXml(String(value)).replace(/[\t\n\r]/g, ' ')}"`

function outcome(report: Report, expectation: ReportedExpectation): string {
  const { predicted, unit, holds } = expectation
  if (holds === true) return ''
  const figure = predicted === null ? 'there is no figure' : `predicted ${predicted} ${unit}`.trimEnd()
  if (holds === null) return `<skipped${attribute('message', report.undecided.get(expectation) ?? figure)}/>`
  return `<failure${attribute('message', figure)}${attribute('type', 'expect-failed')}/>`
}

function testCase(report: Report, expectation: ReportedExpectation): string {
  const { file, line, profile, text } = expectation
  const where = attribute('file', file) + attribute('line', line)
  const head = `<testcase${attribute('classname', profile)}${attribute('name', text)}${where}`
  const inner = outcome(report, expectation)
  return inner === '' ? `    ${head}/>\n` : `    ${head}>${inner}</testcase>\n`
}

/** What stands in a file besides its expectations is told beside the cases, so that a red run has its reason in it. */
function findingsOf({ findings }: Report, file: string): string {
  const lines = findings
    .filter(finding => finding.file === file && finding.code !== 'expect-failed' && finding.code !== 'expect-undecided')
    .map(
      finding =>
        `${file}:${finding.line}:${finding.column}: ${finding.severity}: ${finding.message} [${finding.code}]\n`,
    )
  return lines.length === 0 ? '' : `    <system-out>${escapeXml(lines.join(''))}</system-out>\n`
}

function countsOf(expectations: readonly ReportedExpectation[]): string {
  const count = (holds: boolean | null): number => expectations.filter(one => one.holds === holds).length
  return (
    attribute('tests', expectations.length) +
    attribute('failures', count(false)) +
    attribute('errors', 0) +
    attribute('skipped', count(null))
  )
}

export function checkJUnit(report: Report): string {
  const { expectations, files } = report
  const named = [...new Set([...files, ...expectations.map(expectation => expectation.file)])].sort()
  const suites = named.map(file => {
    const own = expectations.filter(expectation => expectation.file === file)
    const cases = own.map(expectation => testCase(report, expectation)).join('')
    return `  <testsuite${attribute('name', file)}${countsOf(own)}>\n${cases}${findingsOf(report, file)}  </testsuite>\n`
  })
  const head = `<testsuites${attribute('name', 'detent')}${countsOf(expectations)}>`
  return `<?xml version="1.0" encoding="UTF-8"?>\n${head}\n${suites.join('')}</testsuites>\n`
}
