/** The pages of the checks as one Markdown text, drawn from the checks' own files. */

import { checks } from './registry.ts'
import type { Check } from './types.ts'

const width = 120

/** Breaks a paragraph into lines; code between backticks stays whole. */
function wrapped(paragraph: string): string {
  const lines: string[] = []
  let line = ''
  for (const word of paragraph.match(/(?:`[^`]*`|[^\s`])+/g) ?? []) {
    if (line !== '' && line.length + 1 + word.length > width) {
      lines.push(line)
      line = word
    } else line = line === '' ? word : `${line} ${word}`
  }
  return [...lines, line].join('\n')
}

function quoted(paragraph: string): string {
  return wrapped(paragraph).replace(/^/gm, '> ')
}

function severityText({ severity }: Check): string {
  return severity === 'off' ? 'off unless switched on' : severity
}

function exampleLink(name: string): string {
  return `[faulty/${name}.detent](../examples/faulty/${name}.detent)`
}

function section(check: Check): string {
  const { code, title, page } = check
  const ofGroup = page.hasGroupExample ? `; of a part with groups of cores: ${exampleLink(`${code}-of-group`)}` : ''
  return [
    `## ${code}`,
    wrapped(`**${title}.** Severity: ${severityText(check)}.`),
    wrapped(page.what),
    wrapped(`*Why it matters.* ${page.why}`),
    wrapped(`*What to do.* ${page.remedy}`),
    `\`\`\`detent\n${page.example}\n\`\`\``,
    wrapped(`A whole file with this finding: ${exampleLink(code)}${ofGroup}`),
  ].join('\n\n')
}

function overview(): string {
  const rows = checks.map(check => [`[${check.code}](#${check.code})`, severityText(check), check.title])
  const all = [['check', 'severity', 'finds'], ...rows]
  const widths = [0, 1, 2].map(column => Math.max(...all.map(row => (row[column] ?? '').length)))
  const line = (cells: readonly string[], fill: string): string =>
    `| ${cells.map((cell, column) => cell.padEnd(widths[column] ?? 0, fill)).join(' | ')} |`
  const [head = [], ...body] = all
  return [line(head, ' '), line(['', '', ''], '-'), ...body.map(row => line(row, ' '))].join('\n')
}

/** The reference of all checks: one section each, its anchor the check's code. */
export function checksReference(): string {
  return `${[
    '<!-- Written by `npm run generate` from the files in server/checks. -->',
    '# The checks',
    wrapped(
      'Every finding names its check. A check has a code, which stays the same from version to version, and a severity: an `error` is wrong or can hurt a person or the part, a `warning` most likely is not what was meant, `information` is worth knowing, a `hint` is a matter of tidiness. A single finding can be milder or more severe than its check where the text below says so.',
    ),
    wrapped(
      'Severities can be set check by check in the settings of the workspace; `off` switches a check off. `allow CODE "reason"` accepts the findings of one check: at the top of a file in that file, in a block in that block, and in a profile also for the profiles that start from it.',
    ),
    quoted(
      'The checks advise and never write to hardware. They judge the figures that you give them; the limits of the part’s maker, local codes and licensed practice stand above whatever is said here.',
    ),
    overview(),
    ...checks.map(section),
  ].join('\n\n')}\n`
}
