/**
 * The lexer: one pass over the text, kinds of tokens tried by the first character. Every pattern is free of nested
 * repeats, so that half-typed text never makes it backtrack; the last takes any character, so that lexing cannot fail.
 */

import type { SyntaxProblem, Token, TokenKind } from './tree.ts'
import { canonicalUnit, findUnit, unitLike } from './units/units.ts'

/** Where a token that begins at an offset ends; the offset itself where none of its kind does. */
type Matcher = (text: string, offset: number, before: Token | undefined) => number

function endOf(expression: RegExp, text: string, offset: number): number {
  expression.lastIndex = offset
  return expression.test(text) ? expression.lastIndex : offset
}

function sticky(expression: RegExp): Matcher {
  return (text, offset) => endOf(expression, text, offset)
}

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

const newline = sticky(/\r\n|\r|\n/y)
// `//` begins a comment elsewhere: what stands behind it is read as one, and the spelling is a finding.
const comment = sticky(/#[^\r\n]*|\/\/[^\r\n]*/y)
// Quotes of other notations enclose a text as well, where they are closed; the spelling is a finding.
const string = sticky(
  /"[^"\r\n]*(?:""[^"\r\n]*)*"?|[\u201c\u201d\u201e\u00ab][^\r\n"\u201c\u201d\u201e\u00ab\u00bb]*[\u201c\u201d\u00bb"]|[\u2018\u201a][^\r\n"\u2018\u2019\u201a]*[\u2018\u2019]|'[^\r\n'"]*'/y,
)
const wholeDate = /\d{4}-\d{2}-\d{2}(?!\d)/y
const date: Matcher = (text, offset) => (text.charCodeAt(offset + 4) === 0x2d ? endOf(wholeDate, text, offset) : offset)
const wholeTime = /\d{1,2}:\d{2}(?!\d)/y
const time: Matcher = (text, offset) => {
  const mayBe = text.charCodeAt(offset + 1) === 0x3a || text.charCodeAt(offset + 2) === 0x3a
  return mayBe ? endOf(wholeTime, text, offset) : offset
}
// A date of another notation is one thing that does not read.
const oddNumber =
  /\d{1,4}\/\d{1,2}\/\d{2,4}(?!\d)|\d{4}-\d{1,2}-\d{1,2}(?!\d)|(?:\d+(?:[.,]\d+)*[.,]?|[.,]\d+)(?:[eE][+-]?\d+)?/y
const plusMinus = sticky(/±|\+-|\+\u2212/y)
const compare = sticky(/>=|<=|≥|≤|>|<|=/y)
const sign = sticky(/[+\-\u2212]/y)
const unitWord = /[A-Za-z\u00b5\u03bc\u03a9\u2126°℃º]+(?:\/[A-Za-z°℃º]+)?/y
const wordOfAnyScript = /[\p{L}_][\p{L}\p{N}_]*(?:-[\p{L}\p{N}_]+)*/uy
const unknown = sticky(/[^\p{L}\p{N}\s_"#{};+\-\u2212±<>=≤≥.,]+|[\uD800-\uDBFF][\uDC00-\uDFFF]|[\s\S]/uy)

const isDigit = (code: number): boolean => code >= 0x30 && code <= 0x39
const isLetter = (code: number): boolean => (code >= 0x61 && code <= 0x7a) || (code >= 0x41 && code <= 0x5a)
const isInWord = (code: number): boolean => isLetter(code) || isDigit(code) || code === 0x5f
const isBeyondAscii = (code: number): boolean => code >= 0x80

/** Most numbers are digits alone, or with one point among them. */
const number: Matcher = (text, offset) => {
  let end = offset
  while (isDigit(text.charCodeAt(end))) end++
  if (text.charCodeAt(end) === 0x2e && end > offset && isDigit(text.charCodeAt(end + 1))) {
    do end++
    while (isDigit(text.charCodeAt(end)))
  }
  const isPlain = end > offset && !goesOnAsNumber.has(text.charCodeAt(end))
  return isPlain ? end : endOf(oddNumber, text, offset)
}
const goesOnAsNumber: ReadonlySet<number> = new Set([...'.,/-eE'].map(one => one.charCodeAt(0)))

/** Most words are of ASCII letters. */
const plainWord: Matcher = (text, offset) => {
  const first = text.charCodeAt(offset)
  let end = offset
  if (isLetter(first) || first === 0x5f) {
    for (;;) {
      do end++
      while (isInWord(text.charCodeAt(end)))
      if (text.charCodeAt(end) !== 0x2d || !isInWord(text.charCodeAt(end + 1))) break
    }
    const next = text.charCodeAt(end)
    if (!isBeyondAscii(next) && !(next === 0x2d && isBeyondAscii(text.charCodeAt(end + 1)))) return end
  }
  return endOf(wordOfAnyScript, text, offset)
}

/** `degrees C`, `° Celsius`: a unit of two words. */
const spokenDegrees = sticky(/(?:deg(?:rees?)?|°) {0,2}c(?:elsius)?(?![\p{L}\p{N}_/-])/iuy)
const beginsDegrees: ReadonlySet<number> = new Set([...'dD°'].map(one => one.charCodeAt(0)))

/** A word; behind a number also a unit of two words or signs that has another spelling, so that it has one finding. */
const word: Matcher = (text, offset, before) => {
  if (before?.kind === 'number') {
    const end = endOf(unitWord, text, offset)
    if (end > offset && isOddUnit(text.slice(offset, end))) return end
    const degrees = beginsDegrees.has(text.charCodeAt(offset)) ? spokenDegrees(text, offset, before) : offset
    if (degrees > offset) return degrees
  }
  return plainWord(text, offset, before)
}

/** A word goes on after what could be a unit: `min-power`, but not `°C-1x`. */
const goesOn = /^(?:[\p{L}\p{N}_]|-\p{L})/u

/** A unit of two that is written as the language does not: `C/W`, `mV/°C`. */
function isOddUnit(text: string): boolean {
  return text.includes('/') && findUnit(text) === undefined && unitLike(text) !== undefined
}

/** A unit is the next word after a number, or after a string, if the unit table knows it; `x` and `%` end at any non-letter. */
const unit: Matcher = (text, offset, before) => {
  if (before?.kind !== 'number' && before?.kind !== 'string') return offset
  const first = text.charCodeAt(offset)
  if (first === 0x25) return offset + 1
  if (first === 0x78 && !/\p{L}/u.test(text.charAt(offset + 1))) return offset + 1
  const end = endOf(unitWord, text, offset)
  if (end === offset) return offset
  const found = text.slice(offset, end)
  const next = text.charCodeAt(end)
  const isAlone = isSpace(next) || isLineEnd(next) || !goesOn.test(text.slice(end, end + 2))
  if (isAlone && findUnit(found) !== undefined) return end
  if (isOddUnit(found)) return offset
  const slash = found.indexOf('/')
  return slash < 0 || findUnit(found.slice(0, slash)) === undefined ? offset : offset + slash
}

const one: Matcher = (_text, offset) => offset + 1

interface Candidate {
  readonly kind: TokenKind
  readonly matches: Matcher
}

/** What can begin with a character, in the order in which it is tried; the first that matches is the token. */
function candidatesOf(code: number): readonly Candidate[] {
  const first = String.fromCharCode(code)
  const all: readonly (readonly [begins: boolean, kind: TokenKind, matches: Matcher])[] = [
    [isLineEnd(code), 'newline', newline],
    [first === '#' || first === '/', 'comment', comment],
    [isBeyondAscii(code) || first === '"' || first === "'", 'string', string],
    [isDigit(code), 'date', date],
    [isDigit(code), 'time', time],
    [isBeyondAscii(code) || isLetter(code) || first === '%', 'unit', unit],
    [isDigit(code) || first === '.' || first === ',', 'number', number],
    [isBeyondAscii(code) || first === '+', 'plus-minus', plusMinus],
    [isBeyondAscii(code) || '<>='.includes(first), 'compare', compare],
    [isBeyondAscii(code) || first === '+' || first === '-', 'sign', sign],
    [isBeyondAscii(code) || isLetter(code) || first === '_', 'word', word],
    [first === '{', 'open', one],
    [first === '}', 'close', one],
    [first === ';', 'separator', one],
    [true, 'unknown', unknown],
  ]
  return all.flatMap(([begins, kind, matches]) => (begins ? [{ kind, matches }] : []))
}

const ofAscii = Array.from({ length: 0x80 }, (_, code) => candidatesOf(code))
const ofOthers = candidatesOf(0x80)

const canonicalSigns: Readonly<Record<string, string>> = {
  '\u2212': '-',
  '≥': '>=',
  '≤': '<=',
  '+-': '±',
  '+\u2212': '±',
}

function canonicalText(kind: TokenKind, text: string, before: Token | undefined): string {
  if (kind === 'unit') return canonicalUnit(text)
  if (kind === 'word') return text === 'cores' && before?.text === '1' ? 'core' : text
  return kind === 'sign' || kind === 'compare' || kind === 'plus-minus' ? (canonicalSigns[text] ?? text) : text
}

/** Degrees that the language has no unit for. */
export const fahrenheit = /^°? *(f|fahrenheit)$/i

const hyphen = 0x2d

/** Whether a word is of small letters, digits and single hyphens, and begins with a letter: asked of every word of a text. */
export function isWellFormed(word: string): boolean {
  let before = hyphen
  for (let at = 0; at < word.length; at++) {
    const code = word.charCodeAt(at)
    const isSmall = code >= 0x61 && code <= 0x7a
    if (!isSmall && (at === 0 || !(code === hyphen ? before !== hyphen : isDigit(code)))) return false
    before = code
  }
  return before !== hyphen
}

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
      if (isWellFormed(text)) return undefined
      const meant = before?.kind === 'number' || before?.kind === 'string' ? unitLike(text) : undefined
      if (meant !== undefined) return { reason: 'malformed-word', start, end, replacement: meant.symbol }
      if (before?.text === '°' && before.end === start) return undefined
      if (before?.kind === 'number' && fahrenheit.test(text)) return { reason: 'malformed-word', start, end }
      const lower = text.toLowerCase().replaceAll('_', '-')
      return { reason: 'malformed-word', start, end, ...(isWellFormed(lower) ? { replacement: lower } : {}) }
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
  let before: Token | undefined
  for (let start = 0; start < text.length; ) {
    const code = text.charCodeAt(start)
    if (isSpace(code)) {
      start++
      continue
    }
    const candidates = ofAscii[code] ?? ofOthers
    let kind: TokenKind = 'unknown'
    let end = start
    // The last of them takes any character.
    for (let next = 0; end === start; next++) {
      const candidate = candidates[next] as Candidate
      kind = candidate.kind
      end = candidate.matches(text, start, before)
    }
    const image = text.slice(start, end)
    const token: Token = { kind, text: image, canonical: canonicalText(kind, image, before), start, end }
    tokens.push(token)
    const problem = tokenProblem(token, before)
    if (problem !== undefined) problems.push(problem)
    before = token
    start = end
  }
  return { tokens, problems }
}

/** A string token's text without quotes, doubled quotes read as one. */
export function stringText(token: Token): string {
  if (!token.text.startsWith('"')) return token.text.slice(1, -1)
  return token.text.replace(/^"/, '').replace(/"$/, '').replaceAll('""', '"')
}
