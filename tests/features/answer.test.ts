import { describe, expect, it } from 'vitest'
import { units } from '../../grammar/units/units.ts'
import { answerOf, restOf, together, told, wholeOf } from '../../server/features/facts/told.ts'
import { commandLink } from '../../server/features/markdown.ts'
import { unbroken } from '../../server/wording/unbroken.ts'

/** How a hover is put together, and what is done to its text where it leaves for an editor. */

const grid = '| a |\n|:--|\n| 1 |'

describe('an answer', () => {
  it('has four lines before its table, and further lines after it', () => {
    const shown = told({ lines: ['1', '2', undefined, '3', '', '4', '5'], tables: [grid], rest: ['why'] })
    expect(answerOf(shown)).toBe(`1\n\n2\n\n3\n\n4\n\n${grid}\n\n5`)
    expect(wholeOf(shown)).toBe(`${answerOf(shown)}\n\nwhy`)
  })

  it('counts the lines of a list', () => {
    expect(answerOf(told({ lines: ['1', '- a\n- b\n- c\n- d', '2'], tables: [grid] }))).toBe(
      `1\n\n${grid}\n\n- a\n- b\n- c\n- d\n\n2`,
    )
  })

  it('keeps its lines in order where there is no table', () => {
    expect(answerOf(told({ lines: ['1', '2', '3', '4', '5'] }))).toBe('1\n\n2\n\n3\n\n4\n\n5')
  })

  it('of several has the lines of all before the tables of all', () => {
    const both = together(told({ lines: ['1'], tables: [grid], rest: ['x'] }), undefined, told({ lines: ['2'] }))
    expect(answerOf(both)).toBe(`1\n\n2\n\n${grid}`)
    expect(restOf(both)).toBe('x')
  })
})

describe('figures and their units', () => {
  it.each(units.map(({ symbol }) => symbol))('are never on two lines: %s', symbol => {
    expect(unbroken(`at 12.5 ${symbol}, then`)).toBe(`at 12.5\u00a0${symbol}, then`)
    expect(unbroken(`| 3 ${symbol} |`)).toBe(`| 3\u00a0${symbol} |`)
  })

  it('are told from words, and stay as they are in code', () => {
    expect(unbroken('12 cores and 5 Amps, 3 hours, 2 steps, 4 Watts')).toBe(
      '12 cores and 5 Amps, 3 hours, 2 steps, 4 Watts',
    )
    expect(unbroken('write `54 W` at 54 W ± 3 W')).toBe('write `54 W` at 54\u00a0W ±\u00a03\u00a0W')
    expect(unbroken('it\\`s 5 W, not `5 W`')).toBe('it\\`s 5\u00a0W, not `5 W`')
    expect(unbroken('0.090 K/W, 1.38 W/K')).toBe('0.090\u00a0K/W, 1.38\u00a0W/K')
  })
})

describe('a link to a command', () => {
  it('carries any address, and nothing in it ends the link', () => {
    const uri = "file:///a%20b/(x)'!~*[y]<z>.detent"
    const link = commandLink('Show workings', 'detent.showWorkings', [uri, { line: 3, character: 7 }])
    const [, label, command, query = ''] = /^\[([^\]]+)\]\(command:([\w.]+)\?([^()[\]<>\s]+)\)$/.exec(link) ?? []
    expect([label, command]).toEqual(['Show workings', 'detent.showWorkings'])
    expect(JSON.parse(decodeURIComponent(query))).toEqual([uri, { line: 3, character: 7 }])
  })
})
