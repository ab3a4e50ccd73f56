import { stripVTControlCharacters } from 'node:util'
import { describe, expect, it } from 'vitest'
import { type Cell, type Column, tableText, widthOf, wrapped } from '../../../server/cli/output/table.ts'

const columns: readonly Column[] = [
  { head: 'load', side: 'left', key: true },
  { head: 'MHz', side: 'right' },
  { head: 'limiter', side: 'left' },
  { head: 'watts', side: 'right' },
]
const row = (...texts: string[]): Cell[] => texts.map(text => ({ text }))
const rows = [row('render', '4600', 'band', '225.5'), row('idle', '–', 'none', '16.0')]

describe('a table', () => {
  it('is one where it fits', () => {
    expect(tableText(columns, rows, 80)).toBe(
      ['load     MHz  limiter  watts', 'render  4600  band     225.5', 'idle       –  none      16.0', ''].join('\n'),
    )
  })

  it('becomes narrower ones that each begin with the key columns', () => {
    expect(tableText(columns, rows, 24)).toBe(
      [
        'load     MHz  limiter',
        'render  4600  band',
        'idle       –  none',
        'load    watts',
        'render  225.5',
        'idle     16.0',
        '',
      ].join('\n'),
    )
  })

  it('becomes blocks where even those do not fit', () => {
    expect(tableText(columns, rows, 14)).toBe(
      [
        'load render',
        '  MHz 4600,',
        '  limiter',
        '  band, watts',
        '  225.5',
        'load idle',
        '  MHz –,',
        '  limiter',
        '  none, watts',
        '  16.0',
        '',
      ].join('\n'),
    )
  })

  it('loses no figure at any width, and keeps to every width that a word leaves it', () => {
    for (let width = 14; width < 60; width++) {
      const text = tableText(columns, rows, width)
      for (const figure of ['4600', 'band', '225.5', '16.0']) expect(text, `${figure} at ${width}`).toContain(figure)
      expect(Math.max(...text.split('\n').map(line => line.length)), String(width)).toBeLessThanOrEqual(width)
    }
  })

  it('gives colour no room and wide characters two columns', () => {
    const red = '\u001b[31m4600\u001b[39m'
    const shown = tableText(
      columns,
      [[{ text: '冷却' }, { text: '4600', shown: red }, { text: 'band' }, { text: '1.0' }]],
      80,
    )
    expect(shown).toContain(red)
    expect(stripVTControlCharacters(shown)).toBe('load   MHz  limiter  watts\n冷却  4600  band       1.0\n')
  })
})

describe('the width of a line', () => {
  it('is that of the terminal, else 80, and never so small that nothing can be said', () => {
    const out = { write: () => undefined, isTerminal: true }
    expect(widthOf({ out })).toBe(80)
    expect(widthOf({ out: { ...out, columns: 120 } })).toBe(120)
    expect(widthOf({ out: { ...out, columns: 10 } })).toBe(40)
  })

  it('is kept by running text', () => {
    const text = wrapped('one two three four five six seven', '  ', 14)
    expect(text).toBe('  one two\n  three four\n  five six\n  seven\n')
  })

  it('never parts a figure from its unit', () => {
    expect(wrapped('die-heat 12 J/K, fan 20 % of it', '', 12)).toBe('die-heat\n12 J/K, fan\n20 % of it\n')
    expect(wrapped('at 24 °C, on 12 cores', '', 8)).toBe('at\n24 °C,\non 12\ncores\n')
  })
})
