/** Figures that stay with their unit where a line breaks. */
import { units } from '../../grammar/units/units.ts'

const noBreak = '\u00a0'
const symbols = [...units.map(({ symbol }) => symbol), '/K'].sort((a, b) => b.length - a.length)
const beforeUnit = new RegExp(`(?<=\\d) (?=(?:${symbols.join('|')})(?![\\p{L}\\p{N}/]))`, 'gu')

/** No line breaks between a figure and its unit; what stands between backquotes stays as it is typed. */
export function unbroken(markdown: string): string {
  return markdown
    .split(/(\\`|`[^`]*`)/)
    .map((part, index) =>
      index % 2 === 0 ? part.replace(beforeUnit, noBreak).replace(/± (?=\d)/g, `±${noBreak}`) : part,
    )
    .join('')
}
