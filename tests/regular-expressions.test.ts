import { describe, expect, it } from 'vitest'
import { attacks, doubts, expressionsIn, run } from './harness/expressions.ts'
import { readSources } from './harness/sources.ts'

/** Every regular expression of what is shipped takes time in proportion to its text: none of them can be made to hang. */

const expressions = readSources(path => /^(?:client|server|grammar)\/.*\.ts$/.test(path)).flatMap(expressionsIn)
const length = 100_000
/** What is quadratic or worse shows at this length, and would take minutes at the full one. */
const shorter = 15_000
/** A quadratic one takes seconds at the full length, a linear one less than a thousandth of that. */
const mostMs = 250

/**
 * That none hangs is asked of the time, as an engine counts no steps of an expression: that of the processor, and the least of
 * three tries, so that a busy machine is not taken for a slow expression.
 */
function timeMs(one: { readonly source: string; readonly flags: string }, text: string): number {
  let least = Number.POSITIVE_INFINITY
  for (let tries = 0; tries < 3 && least > mostMs / 10; tries++) {
    const start = process.cpuUsage()
    run(one, text)
    least = Math.min(least, process.cpuUsage(start).user / 1000)
  }
  return least
}

describe('regular expressions', () => {
  it('are all found', () => {
    expect(expressions.length).toBeGreaterThan(150)
    const files = new Set(expressions.map(({ at }) => at.split(':')[0]))
    for (const path of ['server/bench/log/cells.ts', 'grammar/tokens.ts', 'client/pages.ts'])
      expect(files).toContain(path)
  })

  it('have no part that trades characters with another', () => {
    expect(expressions.flatMap(one => doubts(one).map(doubt => `${one.at} ${doubt}`))).toEqual([])
  })

  it(`take less than ${mostMs} ms over ${length} characters`, { timeout: 120_000 }, () => {
    const slow = expressions.flatMap(one => {
      const tried = [...attacks(one, shorter)].map((text, at) => ({ text, at, ms: timeMs(one, text) }))
      const worst = tried.sort((a, b) => b.ms - a.ms).slice(0, 3)
      const long = worst[0] !== undefined && worst[0].ms > mostMs / 3 ? [] : [...attacks(one, length)]
      const all = [
        ...worst,
        ...worst.flatMap(({ at }) => long[at] ?? []).map(text => ({ text, ms: timeMs(one, text) })),
      ]
      return all
        .filter(({ text, ms }) => ms > (text.length < length ? mostMs / 3 : mostMs))
        .slice(0, 1)
        .map(
          ({ text, ms }) => `${one.at} /${one.source}/ ${Math.round(ms)} ms on ${JSON.stringify(text.slice(0, 20))}…`,
        )
    })
    expect(slow).toEqual([])
  })
})

/** What stood in the sources once, each quadratic or worse: the tests above would notice. */
const faulty: readonly (readonly [name: string, expression: RegExp])[] = [
  ['a cell with its unit', /^\s*([+-]?[\d.,]+)\s*([^\d\s].*?)\s*$/],
  ['a time', /^\s*(?:(.*?\d)[\sT,]+)?(\d{1,4}):(\d{2})\s*$/i],
  ['the unit in a header', /[[(]\s*([^\])]+?)\s*[\])]/g],
  ['spaces around a line', /^ +| +$/gm],
  ['a row of units', /^[\s[(]+|[\s\])]+$/g],
  ['a header without its unit', /[[(][^\])]*[\])]/g],
  ['a header of two words', /\bcore.*clock|clock.*core/i],
  ['blanks before a place', /\s*$/],
  ['what joins two statements', /[^\S\n]*;?[^\S\n]*$/],
  ['a message in one line', /\s*[\r\n]+\s*/g],
  ['thousands', /\B(?=(\d{3})+$)/g],
]

describe('a faulty expression is noticed', () => {
  it.each(faulty)('%s', (_name, { source, flags }) => {
    const one = { source, flags }
    const growth = (): number => {
      const [short, long] = [500, 2_000].map(size => [...attacks(one, size)]) as [string[], string[]]
      const growths = short.map((text, at) => timeMs(one, long[at] as string) / Math.max(0.002, timeMs(one, text)))
      return Math.max(...growths)
    }
    expect(doubts(one).length > 0 || growth() > 8).toBe(true)
  })
})
