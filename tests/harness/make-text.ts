/** Builders of definitions as text: an invented part, less the lines that a test changes. */

/** The lines of a part by their key words, in the order in which they are written; undefined where one is left out. */
const usual = {
  cores: '4',
  reference: '100 MHz',
  ratio: '8x to 50x',
  'core-voltage': '0.70 V to 1.35 V',
  'die-limit': '95 °C',
  needs: '{ 30x 0.930 V; 50x 1.240 V }',
  'needs-slope': undefined,
  'vector-needs': undefined,
  switching: '2.0 nF',
  leakage: '8 W at 1.10 V 60 °C',
  // Left out, they would count as usual, with a spread.
  'leakage-doubling': '28 K',
  'leakage-exponent': '3',
  'shared-power': '8 W',
  'idle-power': '6 W',
  'package-resistance': '0.10 K/W',
  'core-resistance': '0.40 K/W',
  'die-heat': undefined,
}

export type PartLines = Partial<Readonly<Record<keyof typeof usual, string | undefined>>>

/**
 * A part of this name.
 * @param change what stands behind a key word in place of the usual
 * @param more whole lines behind the others
 */
export function partText(name: string, change: PartLines = {}, more: readonly string[] = []): string {
  const rows = Object.entries<string | undefined>({ ...usual, ...change })
  const lines = rows.flatMap(([word, value]) => (value === undefined ? [] : [`${word} ${value}`]))
  return `part ${name} {\n${[...lines, ...more].map(line => `  ${line}\n`).join('')}}\n`
}

/** Rows of a table over lines of their own. */
export const rowsText = (...rows: readonly string[]): string => `{\n${rows.map(row => `    ${row}\n`).join('')}  }`
