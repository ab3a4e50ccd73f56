import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { applyEdits } from '../../grammar/printer.ts'
import type { OutlineSymbol } from '../../server/features/symbols.ts'
import { loadFixture, uriOf } from '../harness/fixture.ts'
import { placed } from '../harness/placed.ts'
import { root } from '../harness/sources.ts'

const uri = uriOf('a.detent')

function shown(symbols: readonly OutlineSymbol[], indent = ''): readonly string[] {
  return symbols.flatMap(symbol => [
    `${indent}${symbol.kind} ${symbol.name} ${symbol.detail}`.trimEnd(),
    ...shown(symbol.children, `${indent}  `),
  ])
}

describe('the outline', () => {
  it('has the definitions with their keys and tables', async () => {
    const { service, text } = await loadFixture(
      'detent 1\n# °C\nroom r {\n  air 20   °C\n  note "a"\n}\nprofile q {\n  room r\n  steps {\n    1 core 50x\n  }\n}\n',
    )
    const symbols = placed(service.features.documentSymbols(uri))
    expect(shown(symbols)).toEqual([
      'room r room',
      '  key air 20 °C',
      'profile q profile',
      '  key room r',
      '  table steps',
    ])
    for (const symbol of symbols) {
      expect(text(uri).slice(symbol.selection.start, symbol.selection.end)).toBe(symbol.name)
      expect(symbol.selection.start).toBeGreaterThanOrEqual(symbol.start)
      expect(symbol.selection.end).toBeLessThanOrEqual(symbol.end)
    }
  })

  it('stays while a line is in error', async () => {
    const { service } = await loadFixture('room r {\n  air 20,5,1 °C\n  humidity 50 %\n}\n')
    expect(shown(placed(service.features.documentSymbols(uri)))).toEqual([
      'room r room',
      '  key air 20,5,1 °C',
      '  key humidity 50 %',
    ])
  })
})

describe('folds', () => {
  it('are the blocks and the comments that stand together', async () => {
    const { service, text } = await loadFixture(
      '# one\n# two\n\n# alone\nroom r {   # behind a line\n  air 20 °C\n  # last\n}\nroom s { air 20 °C }\n',
    )
    const folds = placed(service.features.folds(uri)).map(
      ({ kind, start, end }) => `${kind}: ${text(uri).slice(start, end)}`,
    )
    expect(folds).toEqual([
      'comment: # one\n# two',
      'block: {   # behind a line\n  air 20 °C\n  # last',
      'block: { air 20 °C',
    ])
  })

  it('of a block without its brace end with what is in it', async () => {
    const { service, text } = await loadFixture('room r {\n  air 20 °C\n\nroom s {\n  air 21 °C\n}\n')
    const [first] = placed(service.features.folds(uri))
    expect(first && text(uri).slice(first.start, first.end)).toBe('{\n  air 20 °C')
  })
})

describe('regions', () => {
  const shownOf = async (source: string): Promise<readonly string[]> => {
    const { service, text } = await loadFixture(source)
    return service.features.regions(uri).map(({ start, end }) => text(uri).slice(start, end))
  }

  it('go from comment to comment, over definitions and within each other', async () => {
    const inner = '#region inner\nroom s {\n  air 21 °C\n}\n  # endregion inner'
    const outer = `# region outer\nroom r {\n  air 20 °C\n}\n${inner}\n# endregion`
    expect(await shownOf(`detent 1\n${outer}\nroom t {\n}\n`)).toEqual([outer, inner])
  })

  it('do not count where they are not ended, nor do ends without a start, other words, or comments behind a line', async () => {
    expect(await shownOf('# endregion\n# region a\n# region b\nroom r {\n}\n# endregion\n')).toEqual([
      '# region b\nroom r {\n}\n# endregion',
    ])
    expect(await shownOf('# regions\nroom r {\n}\n# endregions\n# endregion\n')).toEqual([])
    expect(await shownOf('room r { # region a\n}\n# endregion\n')).toEqual([])
  })

  it('are no comments that stand together with others', async () => {
    const { service, text } = await loadFixture('# one\n# two\n# region a\n# three\n# four\n# endregion\n# five\n')
    const folds = placed(service.features.folds(uri)).map(({ start, end }) => text(uri).slice(start, end))
    expect(folds).toEqual(['# one\n# two', '# three\n# four'])
  })

  it('are bounded as the editor’s configuration says, which shows them beside the text as well', async () => {
    const { markers } = JSON.parse(readFileSync(join(root, 'grammar/language-configuration.json'), 'utf8')).folding
    const lines = ['# region', '#region a', '\t# region a b', '# regional', '# Region', '## region', '# endregion']
    for (const line of [...lines, '#endregion', '  # endregion a', '# endregions', '# end region', 'room # region']) {
      const [starts, ends] = [`${line}\nroom r {\n}\n# endregion\n`, `# region\nroom r {\n}\n${line}\n`]
      expect((await shownOf(starts)).length === 1, line).toBe(new RegExp(markers.start).test(line))
      expect((await shownOf(ends)).length === 1, line).toBe(new RegExp(markers.end).test(line))
    }
  })
})

describe('quick fixes', () => {
  it('fix what the finding is about', async () => {
    const { service, text, stretches } = await loadFixture('room r {\n  air [[20,5]] °C\n  humidity 50 %\n}\n')
    const { start, end } = stretches[0] ?? { start: 0, end: 0 }
    const fixes = service.features.quickFixes(uri, start, end, {}).filter(fix => fix.finding.finding.code === 'syntax')
    expect(fixes.map(fix => [fix.title, fix.preferred])).toEqual([['Write `20.5`', true]])
    const [file] = service.features.fixEdits(uri, fixes[0] ?? expect.fail()) ?? []
    expect(applyEdits(text(uri), file?.edits ?? [])).toBe('room r {\n  air 20.5 °C\n  humidity 50 %\n}\n')
  })

  it('are not offered elsewhere, nor for a check that is off', async () => {
    const { service, text } = await loadFixture('room r {\n  air 20,5 °C\n  humidity 50 %\n}\n')
    const syntax = (start: number, off: Record<string, 'off'>): number =>
      service.features.quickFixes(uri, start, start, off).filter(fix => fix.finding.finding.code === 'syntax').length
    const at = text(uri).indexOf('20,5')
    expect([syntax(at, {}), syntax(at, { syntax: 'off' }), syntax(text(uri).indexOf('50'), {})]).toEqual([1, 0, 0])
  })
})
