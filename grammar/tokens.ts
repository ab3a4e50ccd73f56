/**
 * The lexer. Every pattern is free of nested repeats, so that half-typed text never makes it backtrack;
 * the last pattern takes any character, so that lexing cannot fail.
 */

import { type CustomPatternMatcherReturn, createToken, type IToken, Lexer, type TokenType } from 'chevrotain'
import type { SyntaxProblem, Token, TokenKind } from './tree.ts'
import { canonicalUnit, findUnit, unitLike } from './units/units.ts'

type Matcher = (text: string, offset: number) => CustomPatternMatcherReturn | null

/** Unicode classes are beyond Chevrotain's own analysis of patterns, hence sticky expressions of our own. */
function sticky(expression: RegExp): Matcher {
  return (text, offset) => {
    expression.lastIndex = offset
    return expression.exec(text) as CustomPatternMatcherReturn | null
  }
}

/**
 * Chevrotain tries only the patterns that can begin with a character if every pattern says how it begins;
 * those matched by a function of ours must say it themselves. Everything from the first non-ASCII letter on
 * counts as a letter here: a hint may be too wide, never too narrow.
 */
function codes(from: number, to: number): number[] {
  return Array.from({ length: to - from + 1 }, (_, index) => from + index)
}
const beyondAscii = codes(0x80, 0xffff)
const asciiLetters = [...codes(0x41, 0x5a), ...codes(0x61, 0x7a)]

const spaces = /[ \t\v\f\u00a0\u1680\u2000-\u200a\u202f\u205f\u3000\ufeff]+/

/** Whether a character is white space within a line; a byte order mark is, wherever it stands. */
export function isSpace(code: number): boolean {
  if (code < 0x80) return code === 0x20 || code === 9 || code === 11 || code === 12
  return spaces.test(String.fromCharCode(code))
}

/** Whether a character ends a line. Unicode's own line separators do not, as in the language server protocol. */
export function isLineEnd(code: number): boolean {
  return code === 10 || code === 13
}

const space = createToken({
  name: 'space',
  pattern: spaces,
  group: Lexer.SKIPPED,
})
const newline = createToken({ name: 'newline', pattern: /\r\n|\r|\n/, line_breaks: true })
// `//` begins a comment elsewhere: what stands behind it is read as one, and the spelling is a finding.
const comment = createToken({ name: 'comment', pattern: /#[^\r\n]*|\/\/[^\r\n]*/ })
// Quotes of other notations enclose a text as well, where they are closed; the spelling is a finding.
const string = createToken({
  name: 'string',
  pattern:
    /"[^"\r\n]*(?:""[^"\r\n]*)*"?|[\u201c\u201d\u201e\u00ab][^\r\n"\u201c\u201d\u201e\u00ab\u00bb]*[\u201c\u201d\u00bb"]|[\u2018\u201a][^\r\n"\u2018\u2019\u201a]*[\u2018\u2019]|'[^\r\n'"]*'/,
  line_breaks: false,
})
const date = createToken({ name: 'date', pattern: /\d{4}-\d{2}-\d{2}(?!\d)/ })
const time = createToken({ name: 'time', pattern: /\d{1,2}:\d{2}(?!\d)/ })
// A date of another notation is one thing that does not read.
const number = createToken({
  name: 'number',
  pattern:
    /\d{1,4}\/\d{1,2}\/\d{2,4}(?!\d)|\d{4}-\d{1,2}-\d{1,2}(?!\d)|(?:\d+(?:[.,]\d+)*[.,]?|[.,]\d+)(?:[eE][+-]?\d+)?/,
})
const plusMinus = createToken({ name: 'plus-minus', pattern: /±|\+-|\+\u2212/ })
const compare = createToken({ name: 'compare', pattern: />=|<=|≥|≤|>|<|=/ })
const sign = createToken({ name: 'sign', pattern: /[+\-\u2212]/ })
const unitWord = /[A-Za-z\u00b5\u03bc\u03a9\u2126°℃º]+(?:\/[A-Za-z°℃º]+)?/y

const plainWord = sticky(/[\p{L}_][\p{L}\p{N}_]*(?:-[\p{L}\p{N}_]+)*/uy)

/** `degrees C`, `° Celsius`: a unit of two words. */
const spokenDegrees = sticky(/(?:deg(?:rees?)?|°) {0,2}c(?:elsius)?(?![\p{L}\p{N}_/-])/iuy)

/** A word; behind a number also a unit of two words or signs that has another spelling, so that it has one finding. */
function matchWord(text: string, offset: number, matched: IToken[]): CustomPatternMatcherReturn | null {
  const before = matched[matched.length - 1]
  if (before !== undefined && before.tokenType === number) {
    unitWord.lastIndex = offset
    const found = unitWord.exec(text)
    if (found !== null && isOddUnit(found[0])) return found as CustomPatternMatcherReturn
    const degrees = spokenDegrees(text, offset)
    if (degrees !== null) return degrees
  }
  return plainWord(text, offset)
}
const word = createToken({
  name: 'word',
  pattern: matchWord,
  start_chars_hint: [...asciiLetters, 0x5f, ...beyondAscii],
  line_breaks: false,
})
const open = createToken({ name: 'open', pattern: /\{/ })
const close = createToken({ name: 'close', pattern: /\}/ })
const separator = createToken({ name: 'separator', pattern: /;/ })
const unknown = createToken({
  name: 'unknown',
  pattern: sticky(/[^\p{L}\p{N}\s_"#{};+\-\u2212±<>=≤≥.,]+|[\uD800-\uDBFF][\uDC00-\uDFFF]|[\s\S]/uy),
  start_chars_hint: codes(0, 0xffff),
  line_breaks: false,
})

/** A word goes on after what could be a unit: `min-power`, but not `°C-1x`. */
const goesOn = /^(?:[\p{L}\p{N}_]|-\p{L})/u

/** A unit of two that is written as the language does not: `C/W`, `mV/°C`. */
function isOddUnit(text: string): boolean {
  return text.includes('/') && findUnit(text) === undefined && unitLike(text) !== undefined
}

/** A unit is the next word after a number, or after a string, if the unit table knows it; `x` and `%` end at any non-letter. */
function matchUnit(text: string, offset: number, matched: IToken[]): CustomPatternMatcherReturn | null {
  const before = matched[matched.length - 1]
  if (before === undefined || (before.tokenType !== number && before.tokenType !== string)) return null
  const first = text.charCodeAt(offset)
  if (first === 0x25) return ['%'] as unknown as CustomPatternMatcherReturn
  if (first === 0x78 && !/\p{L}/u.test(text.charAt(offset + 1))) return ['x'] as unknown as CustomPatternMatcherReturn
  unitWord.lastIndex = offset
  const found = unitWord.exec(text)
  if (found === null) return null
  const following = text.slice(offset + found[0].length, offset + found[0].length + 2)
  if (findUnit(found[0]) !== undefined && !goesOn.test(following)) return found as CustomPatternMatcherReturn
  if (isOddUnit(found[0])) return null
  const slash = found[0].indexOf('/')
  if (slash < 0) return null
  const head = found[0].slice(0, slash)
  return findUnit(head) === undefined ? null : ([head] as unknown as CustomPatternMatcherReturn)
}
const unit = createToken({
  name: 'unit',
  pattern: matchUnit,
  start_chars_hint: ['%', ...asciiLetters, ...beyondAscii],
  line_breaks: false,
})

/** Virtual braces that the layout adds where a brace was lost. */
export const tokenTypes = {
  newline,
  comment,
  string,
  date,
  time,
  unit,
  number,
  'plus-minus': plusMinus,
  compare,
  sign,
  word,
  open,
  close,
  separator,
  unknown,
} as const satisfies Record<TokenKind, TokenType>

const lexer = new Lexer([space, ...Object.values(tokenTypes)], {
  positionTracking: 'onlyOffset',
  ensureOptimizations: true,
  // The catch-all pattern makes lexing errors impossible, so the lexer's own recovery is not needed.
  recoveryEnabled: false,
})

const canonicalSigns: Readonly<Record<string, string>> = {
  '\u2212': '-',
  '≥': '>=',
  '≤': '<=',
  '+-': '±',
  '+\u2212': '±',
}

function canonicalText(kind: TokenKind, text: string): string {
  if (kind === 'unit') return canonicalUnit(text)
  return kind === 'sign' || kind === 'compare' || kind === 'plus-minus' ? (canonicalSigns[text] ?? text) : text
}

/** Degrees that the language has no unit for. */
export const fahrenheit = /^°? *(f|fahrenheit)$/i

const wellFormedWord = /^[a-z][a-z0-9]*(?:-[a-z0-9]+)*$/
const wellFormedNumber = /^\d+(?:\.\d+)?$/

/** A date of another notation as the language writes it; undefined where only the person knows which figure is the month. */
function dateLike(text: string): string | undefined {
  const [, first = '', second = '', last = ''] = /^(\d{1,4})[./-](\d\d?)[./-](\d{1,4})$/.exec(text) ?? []
  const written = (year: string, month: string, day: string): string | undefined =>
    Number(month) >= 1 && Number(month) <= 12 && Number(day) >= 1 && Number(day) <= 31
      ? `${year}-${month.padStart(2, '0')}-${day.padStart(2, '0')}`
      : undefined
  if (first.length === 4 && last.length <= 2) return written(first, second, last)
  if (last.length !== 4 || first.length > 2) return undefined
  if (Number(first) > 12) return written(last, second, first)
  return Number(second) > 12 ? written(last, first, second) : undefined
}

/** Nothing for a well-formed number, else what is wrong with it and, where one edit fixes it, how it should read. */
function numberProblem(token: Token): SyntaxProblem | undefined {
  const { text, start, end } = token
  if (wellFormedNumber.test(text)) return undefined
  if (/^\d+,\d+$/.test(text)) return { reason: 'decimal-comma', start, end, replacement: text.replace(',', '.') }
  if (/^[.,]\d+$/.test(text)) return { reason: 'bare-point', start, end, replacement: `0.${text.slice(1)}` }
  if (/^\d+(?:\.\d+)?[.,]$/.test(text)) return { reason: 'trailing-point', start, end, replacement: text.slice(0, -1) }
  const date = dateLike(text)
  if (date !== undefined) return { reason: 'separator-in-number', start, end, replacement: date }
  if (/e/i.test(text)) {
    const value = Number(text)
    const plain = String(value)
    const usable = Number.isFinite(value) && wellFormedNumber.test(plain)
    return { reason: 'exponent', start, end, ...(usable ? { replacement: plain } : {}) }
  }
  return { reason: 'separator-in-number', start, end }
}

function tokenProblem(token: Token, before: Token | undefined): SyntaxProblem | undefined {
  const { text, start, end } = token
  switch (token.kind) {
    case 'number':
      return numberProblem(token)
    case 'comment':
      return text.startsWith('//') ? { reason: 'slash-comment', start, end: start + 2, replacement: '#' } : undefined
    case 'string':
      if (!text.startsWith('"')) return { reason: 'foreign-quotes', start, end, replacement: `"${text.slice(1, -1)}"` }
      return /^"[^"]*(?:""[^"]*)*"$/.test(text)
        ? undefined
        : { reason: 'unclosed-string', start, end, replacement: `${text.trimEnd()}"` }
    case 'unknown':
      return { reason: 'unknown-character', start, end }
    case 'word': {
      if (wellFormedWord.test(text)) return undefined
      const meant = before?.kind === 'number' || before?.kind === 'string' ? unitLike(text) : undefined
      if (meant !== undefined) return { reason: 'malformed-word', start, end, replacement: meant.symbol }
      if (before?.text === '°' && before.end === start) return undefined
      if (before?.kind === 'number' && fahrenheit.test(text)) return { reason: 'malformed-word', start, end }
      const lower = text.toLowerCase().replaceAll('_', '-')
      return { reason: 'malformed-word', start, end, ...(wellFormedWord.test(lower) ? { replacement: lower } : {}) }
    }
    default:
      return undefined
  }
}

export interface LexResult {
  readonly tokens: Token[]
  readonly problems: SyntaxProblem[]
}

/**
 * Splits a text into tokens. White space is not kept: it is what lies between the tokens' offsets.
 * Never throws; every other character of the text lies in exactly one token.
 */
export function lex(text: string): LexResult {
  const tokens: Token[] = []
  const problems: SyntaxProblem[] = []
  for (const raw of lexer.tokenize(text).tokens) {
    const kind = raw.tokenType.name as TokenKind
    const before = tokens[tokens.length - 1]
    const afterOne = kind === 'word' && raw.image === 'cores' && before?.text === '1'
    const token: Token = {
      kind,
      text: raw.image,
      canonical: afterOne ? 'core' : canonicalText(kind, raw.image),
      start: raw.startOffset,
      end: raw.startOffset + raw.image.length,
    }
    tokens.push(token)
    const problem = tokenProblem(token, before)
    if (problem !== undefined) problems.push(problem)
  }
  return { tokens, problems }
}

/** A string token's text without quotes, doubled quotes read as one. */
export function stringText(token: Token): string {
  if (!token.text.startsWith('"')) return token.text.slice(1, -1)
  return token.text.replace(/^"/, '').replace(/"$/, '').replaceAll('""', '"')
}
