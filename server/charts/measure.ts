/** How much room text takes, without a screen: the command has none. */

/**
 * Widths of a sans-serif's signs in thousandths of the size. From memory: the metrics of Helvetica as published by Adobe for
 * the base fonts of PostScript.
 */
const groups: readonly (readonly [signs: string, width: number])[] = [
  ["ijl'’|", 222],
  [' .,:;!/ftI·[]\\', 278],
  ['-()r*"', 333],
  ['°', 400],
  ['cksvxyzJ', 500],
  ['+−=<>±', 584],
  ['FTZ', 611],
  ['ABEKPSVXY&', 667],
  ['CDHNRUw', 722],
  ['GOQΩ', 778],
  ['mM', 833],
  ['%', 889],
  ['W→', 944],
  ['@', 1015],
]
const widths = new Map(groups.flatMap(([signs, width]) => [...signs].map(sign => [sign, width] as const)))
const usual = 556

/** Some screens show a wider sans-serif than that. */
const spare = 1.14

/** Strong text is this much wider. */
export const STRONG = 1.16

/** The width of a line of text in the units of its size. */
export function textWidth(text: string, size: number): number {
  let sum = 0
  for (const sign of text) sum += widths.get(sign) ?? (sign > '\u2fff' ? 1000 : usual)
  return (sum / 1000) * size * spare
}

/** Text cut to a width, with … where something is left out. */
export function cutTo(text: string, size: number, width: number): string {
  if (textWidth(text, size) <= width) return text
  const signs = [...text]
  while (signs.length > 0 && textWidth(`${signs.join('')}…`, size) > width) signs.pop()
  return signs.length === 0 ? '' : `${signs.join('').trimEnd()}…`
}

/** Where a line may end: not between a number and its unit. */
const breaks = / (?<!\d (?=[%°\p{L}]))/u

/** Text in lines of a width, broken between words; what does not fit into so many lines is cut with …. */
export function wrapped(text: string, size: number, width: number, most: number): readonly string[] {
  const lines: string[] = []
  let rest = text.split(breaks)
  while (rest.length > 0 && lines.length < most - 1) {
    let count = 1
    while (count < rest.length && textWidth(rest.slice(0, count + 1).join(' '), size) <= width) count++
    lines.push(cutTo(rest.slice(0, count).join(' '), size, width))
    rest = rest.slice(count)
  }
  return rest.length === 0 ? lines : [...lines, cutTo(rest.join(' '), size, width)]
}

/** What a line is called, then the same with less: `dew point 8.8 °C`, `dew 8.8 °C`, `8.8 °C`. */
export function shorter(text: string): readonly string[] {
  const words = text.split(' ')
  return [...new Set([text, text.replace(' point', ''), words.slice(-2).join(' ')])]
}
