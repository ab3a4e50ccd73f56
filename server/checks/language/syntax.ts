import { fahrenheit } from '../../../grammar/tokens.ts'
import type { Chunk, SyntaxProblem, SyntaxReason } from '../../../grammar/tree.ts'
import { findUnit } from '../../../grammar/units/units.ts'
import type { Match, MatchProblem } from '../../../grammar/values.ts'
import { mostCharacters } from '../../../grammar/vocabulary/index.ts'
import { firstServing } from '../../model/first-serving.ts'
import { listed } from '../../wording/counts.ts'
import { replaceFix } from '../support/edits.ts'
import { habitualSign, helps, inBraces, lineFix, separated, withoutComma } from '../support/line-fixes.ts'
import { joinedRanges } from '../support/ranges.ts'
import { matchesOfChunk } from '../support/walk.ts'
import type { Check, Fix, Found, Place } from '../types.ts'

const leftOut = 'The line is left out of every prediction until it reads.'

const words: Readonly<Record<SyntaxReason, (text: string) => string>> = {
  'unknown-character': text => `\`${text}\` means nothing here. ${leftOut} Remove it.`,
  'malformed-word': text =>
    `\`${text}\` is not a word of the language: words and names have small letters, digits and single hyphens.`,
  'decimal-comma': text => `\`${text}\` has a decimal comma, which could be taken for a list. Write a decimal point.`,
  'bare-point': text => `\`${text}\` starts with a decimal point, which is easy to miss. Write \`0${text}\`.`,
  'trailing-point': text => `\`${text}\` ends with a point or comma. Leave it out, or finish the number.`,
  exponent: text =>
    `\`${text}\` has an exponent; firmware fields have none. Write the number out, or take a smaller unit.`,
  'separator-in-number': text =>
    /^\d{1,4}([./-])\d\d?\1\d{1,4}$/.test(text) && /\d{4}/.test(text)
      ? `\`${text}\` is not how a date is written: year, month and day, like \`2026-01-12\`.`
      : `\`${text}\` is not a number: digits, then at most one point and more digits. Write the value you mean.`,
  'unclosed-string': () =>
    'No closing quote: the text ends with the line, so what follows on it is lost. Add the quote.',
  'foreign-quotes': text => `\`${text}\` is not in straight double quotes, which enclose every text here.`,
  'slash-comment': () => '`//` does not start a comment here: a comment starts with `#`.',
  'unclosed-block': () => 'This `{` is never closed. What follows was read by its indent: add the `}`.',
  'missing-open': () => 'No `{` here, but the lines below are indented as a block. They were read as one: add the `{`.',
  'stray-close': () => 'This `}` closes nothing. Remove it.',
  'missing-line-end': () => 'Something follows on the line after a block. Put it on a line of its own.',
  'block-without-head': () => 'This block has no key word before its `{`; nothing in it is read.',
  'nested-too-deep': () => 'Blocks are nested deeper than any bench needs; nothing from here on is read.',
  'too-long': () =>
    `Not read from here on: a file is read up to ${mostCharacters} characters. Split it, and join the parts with \`use\`.`,
  'not-utf8': () => 'From here on the file is not valid UTF-8. Save it as UTF-8: degree and ohm signs may be wrong.',
}

const fixTitles: Partial<Readonly<Record<SyntaxReason, string>>> = {
  'unclosed-string': 'Close the quote',
  'missing-open': 'Add the brace',
  'stray-close': 'Remove this brace',
}

/** The first of these texts that makes the line read in the place of what stands there. */
function firstThatHelps(at: Place, texts: readonly string[]): Fix | undefined {
  const text = texts.find(one => helps(at.chunk, { start: at.start, end: at.end, text: one }))
  return text === undefined ? undefined : replaceFix(`Write \`${text}\``, at, text)
}

/**
 * The value in degrees Celsius, to a tenth; undefined where a difference is wanted, which is converted otherwise.
 * @param number with the spaces between it and its unit
 */
function inCelsius(unit: Place, number: string): Fix | undefined {
  const celsius = (Number(number.replaceAll(' ', '')) - 32) / 1.8
  const text = `${celsius.toFixed(1).replace(/\.0$/, '')} °C`
  const start = unit.start - number.length
  const fix = replaceFix(`Write \`${text}\``, { ...unit, start }, text)
  return helps(unit.chunk, { start, end: unit.end, text }) ? fix : undefined
}

/** So much of the text before a unit is looked at for its value. */
const longestValue = 64

function foundOf(problem: SyntaxProblem, at: Place): Found {
  const text = at.chunk.text.slice(at.start, at.end)
  const { replacement } = problem
  const after = at.chunk.text.slice(at.start)
  const degrees = /^° *(f|fahrenheit)\b/i.exec(after)?.[0] ?? text
  const before = at.chunk.text.slice(Math.max(0, at.start - longestValue), at.start)
  if (fahrenheit.test(degrees) && /[\d"] *$/.test(before)) {
    const whole = { ...at, end: at.start + degrees.length }
    const written = /(?:(?<=\s)-\s?)?\d{1,12}(?:\.\d{1,12})? {0,8}$/.exec(before)
    const fix = written === null ? undefined : inCelsius(whole, written[0])
    const remark = before.trimEnd().endsWith('"')
      ? ' A log in °F has to be converted first.'
      : fix === undefined
        ? ''
        : ` ${fix.title.replace('Write', 'That is')}.`
    return {
      at: whole,
      message: `\`${degrees}\` is not a unit here: temperatures are in °C, which is (°F - 32) / 1.8.${remark} ${leftOut}`,
      ...(fix === undefined ? {} : { fixes: [fix] }),
    }
  }
  const range = problem.reason === 'trailing-point' ? /^(\d+)\.\.(\d+)/.exec(after) : null
  if (range !== null) {
    const written = `${range[1]} to ${range[2]}`
    const whole = { ...at, end: at.start + range[0].length }
    return {
      at: whole,
      message: `A range is written \`${written}\`.`,
      fixes: [replaceFix(`Write \`${written}\``, whole, written)],
    }
  }
  const needless = text.endsWith(',') ? withoutComma(at.chunk, at.end - 1) : undefined
  if (needless !== undefined) {
    const message = `What belongs together on a line is separated by spaces, not by commas. ${leftOut}`
    return { at: { ...at, start: at.end - 1 }, message, fixes: [needless] }
  }
  const comma = text.endsWith(',') ? separated(at.chunk, at.end - 1, at.end) : undefined
  if (comma !== undefined) {
    const message = `Statements on one line are separated by \`;\`, not by a comma. ${leftOut}`
    return { at: { ...at, start: at.end - 1 }, message, fixes: [comma] }
  }
  if (text === '°' && /\d *$/.test(before)) {
    const fix = firstThatHelps(at, ['°C'])
    if (fix !== undefined)
      return { at, message: `\`°\` is not a unit by itself: a temperature is in °C. ${leftOut}`, fixes: [fix] }
  }
  const habit = problem.reason === 'unknown-character' ? habitualSign(at.chunk, at.start) : undefined
  if (habit !== undefined) {
    const message = `\`${text}\` means nothing here. ${leftOut} ${habit.advice}`
    return { at, message, fixes: [habit.fix] }
  }
  const message = words[problem.reason](text)
  const word = problem.reason === 'unknown-character' ? firstThatHelps(at, ['over', 'at', 'to', 'of']) : undefined
  if (word !== undefined)
    return { at, message: `\`${text}\` means nothing here. ${leftOut} ${word.title}.`, fixes: [word] }
  if (replacement === undefined) return { at, message }
  if (findUnit(replacement) !== undefined) {
    const fixes = [replaceFix(`Write \`${replacement}\``, at, replacement)]
    return { at, message: `\`${text}\` is not a unit here; the language has \`${replacement}\`. ${leftOut}`, fixes }
  }
  const title = fixTitles[problem.reason] ?? `Write \`${replacement}\``
  return { at, message, fixes: [{ title, edits: [{ ...at, text: replacement }], preferred: true }] }
}

/** What is wanted, with its article; of many words one of which is wanted each once. */
function alternatives(what: string): string {
  if (what === 'what in double quotes') return 'what was seen, in double quotes,'
  if (/^[a-z]+ in double quotes$/.test(what)) return `a ${what}`
  const found = new Set(Array.from(what.matchAll(/`[^`]+`/g), ([one]) => one))
  const isList = /^(?:`[^`]+`|,|or| )+$/.test(what)
  return isList && found.size > 2 ? listed([...found], 'or') : what
}

function matchMessage(problem: MatchProblem, text: string): string | undefined {
  switch (problem.problem) {
    case 'expected':
      return `Expected ${alternatives(problem.what)} here. ${leftOut}`
    case 'unexpected':
      return `\`${text}\` is more than this line can hold. The line is left out of every prediction: remove it, or put it on a line of its own.`
    case 'again':
      return `\`${text}\` is the second of its kind on this line, and it has one. ${leftOut} Take one out, or write two lines.`
    case 'not-whole':
      return `\`${text}\` is not a whole number, and this is a count.`
    case 'block-missing':
      return 'A block `{ … }` is missing here; without it the line says nothing.'
    case 'block-unexpected':
      return 'This line takes no block; what stands in the braces is not read.'
    default:
      return undefined
  }
}

function matchFixes(match: Match, problem: MatchProblem, at: Place): readonly Fix[] {
  const whole = /^(\d+)\.0+$/.exec(at.chunk.text.slice(at.start, at.end))?.[1]
  if (problem.problem === 'not-whole' && whole !== undefined) return [replaceFix(`Write \`${whole}\``, at, whole)]
  if (problem.problem === 'block-missing')
    return [inBraces(at.chunk, match.statement.items[0]?.end ?? at.end, at.end) ?? []].flat()
  if (problem.problem === 'expected') return lineFix(at.chunk, match, problem)
  if (problem.problem !== 'unexpected') return []
  const start = at.chunk.text.slice(0, at.start).trimEnd().length
  return [{ title: 'Remove it', edits: [{ ...at, start, text: '' }] }]
}

/** Whether something that does not read begins within a stretch; problems stand in the order of their places. */
function hasProblem({ problems }: Chunk, from: number, to: number): boolean {
  const first = firstServing(-1, problems.length, index => (problems[index]?.start ?? 0) >= from)
  return (problems[first]?.start ?? Number.POSITIVE_INFINITY) <= to
}

export const syntax: Check = {
  code: 'syntax',
  severity: 'error',
  title: 'A line that does not read',
  page: {
    what: 'Characters, numbers, quotes and braces that do not fit the language, and lines that do not have the form their key word takes.',
    why: 'A line that does not read is left out, and a setting that is silently missing costs an evening.',
    remedy:
      'Correct the line as the message says; most have a quick fix. The rest of the file is read and predicted all the same.',
    example: 'part sample {\n  die-limit 95,5 °C\n}',
  },
  *inFile({ view }) {
    const { source, invalidAt } = view.document
    if (invalidAt !== undefined) {
      const { chunk, start } = source.chunks.findLast(placed => placed.start <= invalidAt) ??
        source.chunks[0] ?? { chunk: undefined, start: 0 }
      if (chunk !== undefined)
        yield { at: { chunk, start: invalidAt - start, end: invalidAt - start + 1 }, message: words['not-utf8']('') }
    }
  },
  *inChunk(chunk) {
    const told = new Set(chunk.problems.flatMap(({ reason, end }) => (reason === 'trailing-point' ? [end] : [])))
    const first = chunk.problems.filter(({ start }) => !told.has(start))
    yield* joinedRanges(first.map(problem => foundOf(problem, { chunk, start: problem.start, end: problem.end })))
    for (const { match } of matchesOfChunk(chunk)) {
      for (const problem of match.problems) {
        const at = { chunk, start: problem.start, end: problem.end }
        const message = matchMessage(problem, chunk.text.slice(at.start, at.end))
        if (message === undefined) continue
        const { statement } = match
        // What follows on what does not read is not reported as too much as well.
        if (problem.problem === 'unexpected' && hasProblem(chunk, statement.start, at.start)) continue
        const next = problem.problem === 'unexpected' ? separated(chunk, at.start) : undefined
        if (next !== undefined) {
          const second = chunk.text.slice(at.start, at.end)
          yield {
            at,
            message: `\`${second}\` is a second statement; on one line they are separated by \`;\`. ${leftOut}`,
            fixes: [next],
          }
          continue
        }
        const habit = habitualSign(chunk, at.start)
        if (habit !== undefined) {
          const text = chunk.text.slice(at.start, at.end)
          const what =
            problem.problem === 'unexpected' ? `\`${text}\` is more than this line can hold. ${leftOut}` : message
          yield { at, message: `${what} ${habit.advice}`, fixes: [habit.fix] }
          continue
        }
        const fixes = matchFixes(match, problem, at)
        yield { at, message, ...(fixes.length === 0 ? {} : { fixes }) }
      }
    }
  },
}
