/** Wording that messages share. */

/** A number as a person writes it: at most this many digits behind the point, no trailing zeros. */
export function figure(value: number, digits = 6): string {
  const text = value.toFixed(digits)
  return text.includes('.') ? text.replace(/\.?0+$/, '') : text
}

/** `a`, `b` and `c`. */
export function quotedList(words: readonly string[], joint = 'and'): string {
  const quoted = words.map(word => `\`${word}\``)
  return quoted.length < 2 ? quoted.join('') : `${quoted.slice(0, -1).join(', ')} ${joint} ${quoted.at(-1)}`
}

/** `1 core`, `3 cores`. */
export function coresText(count: number): string {
  return count === 1 ? '1 core' : `${count} cores`
}

/** `3 active cores`, or `3 to 5 active cores`. */
export function activeCores(from: number, to: number): string {
  if (from !== to) return `${from} to ${to} active cores`
  return from === 1 ? '1 active core' : `${from} active cores`
}

/** Core counts as a row of a table writes them. */
export function countsText(from: number, to: number): string {
  return from === to ? coresText(from) : `${from} to ${to} cores`
}
