/** What is typed into the field of What If: statements line by line, each an overlay of its own. */

import { type Overlay, OverlayTrouble, readOverlay } from '../overlay/index.ts'

/** A statement of the field, or one that is begun. */
export interface FieldStatement {
  readonly text: string
  /** Where it begins in the field. */
  readonly start: number
}

/** Where something does not read, in the field. */
export interface FieldTrouble {
  readonly start: number
  readonly end: number
  readonly message: string
}

/** Whether nothing but remarks stands there. */
function isRemark(text: string): boolean {
  return text.split(/[\r\n]/).every(line => /^\s*(?:#|$)/.test(line))
}

/** Statements end with their line, those with a block with the line that closes it. Lines with a remark alone do not count. */
export function statementsOf(field: string): readonly FieldStatement[] {
  const found: FieldStatement[] = []
  let start = 0
  let depth = 0
  const end = (at: number): void => {
    const text = field.slice(start, at)
    const first = /[^\s]/.exec(text)
    if (first !== null && !isRemark(text)) {
      found.push({ text: text.slice(first.index).trimEnd(), start: start + first.index })
    }
    start = at
  }
  for (const { 0: sign, index } of field.matchAll(/#[^\r\n]*|"[^"\r\n]*"?|[{}]|\r\n|\r|\n/g)) {
    if (sign === '{') depth++
    else if (sign === '}') depth = Math.max(0, depth - 1)
    else if (/^[\r\n]/.test(sign) && depth === 0) end(index + sign.length)
  }
  end(field.length)
  return found
}

/** `room=study` stands for `room study`, as on the command line; offsets stay. */
function asStatement(text: string): string {
  return text.replace(/^((?:part|cooler|room|board)\s*)=(\s*[a-z][a-z0-9-]*\s*)$/, '$1 $2')
}

function placed(statement: FieldStatement | undefined, length: number, error: OverlayTrouble): FieldTrouble {
  if (statement === undefined) return { start: 0, end: length, message: error.plain }
  const { text, start } = statement
  if (error.offset === undefined) return { start, end: start + text.length, message: error.plain }
  const at = Math.min(error.offset, Math.max(0, text.length - 1))
  const word = /^[^\s{}]+|^[{}]/.exec(text.slice(at))?.[0].length ?? 1
  return { start: start + at, end: start + at + word, message: error.plain }
}

/** Does something with the overlays of a field; trouble with one of them comes back with its place. */
export function inField<T>(
  field: string,
  use: (overlays: readonly Overlay[]) => T,
): { readonly done: T } | { readonly trouble: FieldTrouble } {
  const statements = statementsOf(field)
  try {
    return { done: use(statements.map(({ text }, index) => readOverlay(asStatement(text), index + 1))) }
  } catch (error) {
    if (!(error instanceof OverlayTrouble)) throw error
    const own = error.number === undefined ? undefined : statements[error.number - 1]
    return { trouble: placed(own, field.length, error) }
  }
}
