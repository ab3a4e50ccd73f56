/** How people type what no keyboard has: by another sign, by its letters, or without it. */

const others: readonly (readonly [sign: string, ...typed: string[]])[] = [
  ['°', 'deg', '', 'º'],
  ['µ', 'u', '\u03bc'],
  ['Ω', 'ohm', 'Ohm', '\u2126'],
  ['±', '+-', '+/-'],
]

/**
 * What an editor compares with the typed letters for a label with such a sign: every way to type it, the one that
 * goes on from what is typed already first. Undefined where the label itself can be typed.
 */
export function filterTextOf(label: string, typed: string): string | undefined {
  const spellings = others.flatMap(([sign, ...ways]) =>
    label.includes(sign) ? ways.map(way => label.replaceAll(sign, way)) : [],
  )
  if (spellings.length === 0) return undefined
  const all = [label, ...spellings]
  const goesOn = (one: string): boolean => typed !== '' && one.toLowerCase().startsWith(typed.toLowerCase())
  return [...all.filter(goesOn), ...all.filter(one => !goesOn(one))].join(' ')
}
