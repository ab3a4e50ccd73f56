/** Edits that the quick fixes of the profile's settings are made of. */

import type { Block, Span } from '../../../grammar/tree.ts'
import type { Match, Quantity } from '../../../grammar/values.ts'
import { type Definition, entry } from '../../semantic/definitions.ts'
import type { ResolvedProfile, Sourced } from '../../semantic/profile.ts'
import type { FixEdit, Place } from '../types.ts'
import { headSpan } from './place.ts'

type Owner = { readonly chunk: Place['chunk'] }

export function replace(owner: Owner, span: Span, text: string): FixEdit {
  return { chunk: owner.chunk, start: span.start, end: span.end, text }
}

/** Decimals that a quantity is written with. */
export function decimalsOf(owner: Owner, { start, end }: Quantity): number {
  const written = /\d+(?:\.(\d+))?/.exec(owner.chunk.text.slice(start, end))
  return written?.[1]?.length ?? 0
}

function indentOf(text: string, offset: number): string {
  const line = text.lastIndexOf('\n', offset - 1) + 1
  return /^[ \t]*/.exec(text.slice(line, offset))?.[0] ?? ''
}

/** Puts a statement at the end of a block: on a line of its own, or after a `;` where the block is one line. */
function appendTo(owner: Owner, statement: Match['statement'], block: Block, lines: readonly string[]): FixEdit {
  const { text } = owner.chunk
  const inside = text.slice(block.start, block.end)
  const last = block.statements.at(-1)
  if (!inside.includes('\n') && lines.length === 1) {
    const at = last?.end ?? block.open?.end ?? block.start
    return replace(owner, { start: at, end: at }, last === undefined ? ` ${lines[0]}` : `; ${lines[0]}`)
  }
  const outer = indentOf(text, statement.start)
  const body = lines.map(line => `${outer}  ${line}\n`).join('')
  const close = block.close?.start ?? block.end
  const lineStart = text.lastIndexOf('\n', close - 1) + 1
  if (text.slice(lineStart, close).trim() === '') return replace(owner, { start: lineStart, end: lineStart }, body)
  return replace(owner, { start: close, end: close }, `\n${body}${outer}`)
}

/**
 * States settings in a profile: in its block (`limits`, `voltage`) where it has one, else at the end of the profile.
 * Undefined where the profile has no braces to put them in.
 */
export function stateIn(
  own: Definition,
  word: 'limits' | 'voltage' | undefined,
  ...lines: readonly string[]
): FixEdit | undefined {
  const outer = own.match.statement
  if (outer.block?.open === undefined) return undefined
  if (word === undefined) return appendTo(own, outer, outer.block, lines)
  const inner = entry(own.match, word)?.statement
  if (inner?.block?.open !== undefined) return appendTo(own, inner, inner.block, lines)
  const isOneLine = !own.chunk.text.slice(outer.block.start, outer.block.end).includes('\n')
  return appendTo(
    own,
    outer,
    outer.block,
    isOneLine ? [`${word} { ${lines.join('; ')} }`] : [`${word} {`, ...lines.map(line => `  ${line}`), '}'],
  )
}

/** Rewrites a setting that this profile states itself, or states it where it is inherited or absent. */
export function setWhole(
  profile: ResolvedProfile,
  sourced: Sourced | undefined,
  word: 'limits' | 'voltage' | undefined,
  line: string,
): FixEdit | undefined {
  const own = profile.definition
  if (sourced !== undefined && sourced.definition === own) {
    return replace(own, headSpan(sourced.match.statement), line)
  }
  return stateIn(own, word, line)
}
