/** What `check` prints for a person. */

import type { Severity } from '../../checks/types.ts'
import { type Report, severityOrder } from '../check-results.ts'
import { type Colour, paintFor } from '../colour.ts'
import type { Io } from '../io.ts'
import { inOneLine, lineNumbersText } from '../lines.ts'

export const colours: Readonly<Record<Severity, Colour>> = {
  error: 'red',
  warning: 'yellow',
  information: 'blue',
  hint: 'dim',
}

const counted = (count: number, one: string, many: string): string => `${count} ${count === 1 ? one : many}`

const words: Readonly<Record<Severity, readonly [string, string]>> = {
  error: ['error', 'errors'],
  warning: ['warning', 'warnings'],
  information: ['information', 'information'],
  hint: ['hint', 'hints'],
}

const MOST_LINES = 3

/** `line 7 of bench.detent`, a few lines of each. */
const placesOf = ({ file, lines }: Report['unread'][number]): string =>
  `${lineNumbersText(lines, MOST_LINES)} of ${file}`

/** Where a person without a file, or without a profile, begins. */
export const whereToBegin = 'The README has a first file to copy.'

/** What was found and how the expectations stand, in a sentence. */
export function summary({ files, findings, expectations, unread }: Report): string {
  if (files.length === 0) return `No .detent files here. ${whereToBegin}`
  const countOf = (severity: Severity): number => findings.filter(finding => finding.severity === severity).length
  const levels = severityOrder.flatMap(severity => {
    const count = countOf(severity)
    return count === 0 || severity === 'hint' ? [] : counted(count, ...words[severity])
  })
  // As an editor counts: hints are named apart, since its list of problems leaves them out.
  const hints = countOf('hint')
  const total = findings.length - hints
  const found =
    [
      ...(total === 0 ? [] : [`${counted(total, 'finding', 'findings')} (${levels.join(', ')})`]),
      ...(hints === 0 ? [] : [counted(hints, ...words.hint)]),
    ].join(' and ') || 'Nothing found'
  const used =
    unread.length === 0
      ? ''
      : `, ${findings.length === 0 ? 'but' : 'and'} what ${files.length === 1 ? 'it uses' : 'they use'} does not read (${unread.map(placesOf).join('; ')})`
  const where = `in ${counted(files.length, 'file', 'files')}${used}`
  if (expectations.length === 0) return `${found} ${where}.`
  const holding = expectations.filter(expectation => expectation.holds === true).length
  const open = expectations.filter(expectation => expectation.holds === null).length
  const rest = open === 0 ? '' : `, ${open} undecided`
  const noun = expectations.length === 1 ? 'expectation holds' : 'expectations hold'
  return `${found} ${where}; ${holding} of ${expectations.length} ${noun}${rest}.`
}

/** One line for each finding, as compilers print them, then one line that sums up. */
export function checkText(report: Report, io: Io): string {
  const paint = paintFor(io, io.out)
  const lines = report.findings.map(finding => {
    const place = `${finding.file}:${finding.line}:${finding.column}`
    const message = inOneLine(finding.message)
    return `${place}: ${paint(colours[finding.severity], finding.severity)}: ${message} [${finding.code}]\n`
  })
  return `${lines.join('')}${paint('bold', summary(report))}\n`
}
