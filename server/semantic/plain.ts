/** Numbers as a person wrote them, for texts that repeat the language. */

/** A number without the digits that only binary arithmetic put there. */
export function plain(value: number): string {
  return String(Number(value.toPrecision(12)))
}
