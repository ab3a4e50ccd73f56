import { readFileSync } from 'node:fs'
import { describe, expect, it } from 'vitest'
import { generatedFiles } from '../../client/scripts/generate.ts'
import { describeBounds, describeForms } from '../../grammar/describe.ts'
import { parseFile } from '../../grammar/file.ts'
import { format } from '../../grammar/printer.ts'
import { findWord, type Place, standsEverywhere, vocabulary, type Word } from '../../grammar/vocabulary/index.ts'
import { read } from './helpers.ts'

const reference = generatedFiles().get('grammar/reference/language.md')!

describe('generated files', () => {
  it.each([...generatedFiles()])('%s is current', (file, content) => {
    const onDisk = readFileSync(new URL(`../../${file}`, import.meta.url), 'utf8')
    expect(onDisk === content, `${file} is not what the vocabulary and the checks say: run \`npm run generate\``).toBe(
      true,
    )
  })
})

/** A line set into the blocks that lead to a place. */
function setInto(place: Place, line: string): string {
  if (place === 'file') return `${line}\n`
  const opener = vocabulary.find(word => word.block === place)!
  const form = opener.forms.at(-1)!
  const head = form.map(slot =>
    slot.slot === 'literal'
      ? slot.word
      : slot.slot === 'choice'
        ? slot.words[0]
        : slot.slot === 'string'
          ? '"some text"'
          : 'some-name',
  )
  return setInto(opener.in[0]!, `${[opener.word, ...head].join(' ')} {\n${line}\n}`)
}

const entries = vocabulary.flatMap(word =>
  word.in.map(place => ({ word, place, title: `${word.word === '' ? 'row' : word.word} in ${place}` })),
)

describe('examples of the vocabulary', () => {
  it.each(entries)('$title reads at its place', ({ word, place }) => {
    const text = setInto(place, word.example)
    const { file, matches } = read(text)
    expect(file.chunks.flatMap(({ chunk }) => chunk.problems)).toEqual([])
    expect(matches.flatMap(match => match.problems)).toEqual([])
    expect(matches.some(match => match.place === place && match.word === word && match.sound)).toBe(true)
  })

  it.each(entries)('$title is written as the formatter writes', ({ word, place }) => {
    const lines = format(parseFile(setInto(place, word.example))).split('\n')
    expect(lines.map(line => line.trim())).toContain(word.example)
  })
})

describe('the reference', () => {
  const fences = [...reference.matchAll(/```detent\n([\s\S]*?)```/g)].map(([, text]) => text!)

  it('has examples that read and are formatted', () => {
    expect(fences.length).toBeGreaterThan(1)
    for (const text of fences) {
      const { file, matches } = read(text)
      expect(file.chunks.flatMap(({ chunk }) => chunk.problems)).toEqual([])
      expect(matches.flatMap(match => match.problems)).toEqual([])
      expect(format(file)).toBe(text)
    }
  })

  /** Headings as the links of common Markdown viewers name them. */
  const anchors = [...reference.matchAll(/^#+ (.*)$/gm)].map(([, title]) =>
    title!
      .toLowerCase()
      .replace(/[^\p{L}\p{N} -]/gu, '')
      .replaceAll(' ', '-'),
  )

  it('has no two headings with one anchor', () => {
    expect(anchors.filter((anchor, index) => anchors.indexOf(anchor) !== index)).toEqual([])
  })

  it('has no link without its heading', () => {
    const links = [...reference.matchAll(/\]\(#([^)]+)\)/g)].map(([, link]) => link!)
    expect(links.length).toBeGreaterThan(vocabulary.length)
    expect(links.filter(link => !anchors.includes(link))).toEqual([])
  })

  it('describes every word once', () => {
    for (const { word, place } of entries) {
      const where = standsEverywhere(word) ? 'everywhere' : place === 'file' ? 'top' : place
      const anchor = `${where}-${word.word === '' ? 'rows' : word.word}`
      expect(anchors.filter(one => one === anchor)).toHaveLength(1)
    }
    for (const word of vocabulary) {
      expect(reference).toContain(word.means)
      if (word.caution !== undefined) expect(reference).toContain(word.caution)
      if (word.default !== undefined) expect(reference).toContain(word.default.text)
    }
  })

  it('has no line of a form left open', () => {
    expect(reference).not.toMatch(/undefined|\[object|: \.|(?<!`)``(?!`)/)
  })
})

function form(place: Place, word: string): string {
  const [first = word, ...others] = describeForms(findWord(place, word) as Word)
  return [first, ...others.map(one => (word === '' ? one : one.slice(word.length + 1)))].join(' | ')
}

describe('descriptions of forms', () => {
  it.each([
    ['part', 'leakage', 'leakage POWER at VOLTAGE TEMPERATURE'],
    ['part', 'ratio', 'ratio RATIO to RATIO'],
    ['room', 'air', 'air TEMPERATURE [to TEMPERATURE]'],
    ['load', 'cores', 'cores [GROUP] COUNT [to COUNT]'],
    ['steps', '', 'COUNT [to COUNT] cores RATIO'],
    ['bands', '', 'COUNT [to COUNT] cores above TEMPERATURE -RATIO'],
    ['profile', 'bands', 'bands [GROUP] [return DIFFERENCE] { … }'],
    [
      'profile',
      'drive',
      'drive dew + DIFFERENCE | hold TEMPERATURE | fixed CURRENT | supply VOLTAGE | pulsed PERCENT | full | off',
    ],
    ['voltage', 'core', 'core [GROUP] needs [+|- VOLTAGE] | [GROUP] fixed VOLTAGE'],
    ['limits', 'sustained-power', 'sustained-power POWER [over TIME]'],
    ['file', 'profile', 'profile NAME [based-on PROFILE] { … }'],
    ['file', 'allow', 'allow CODE "REASON"'],
    ['menu', '', 'SETTING [GROUP|RAIL] "PAGE" "FIELD" | "SETTING" "PAGE" "FIELD"'],
  ] as const)('in %s: %s', (place, word, expected) => {
    expect(form(place, word)).toBe(expected)
  })

  it('come one by one as well', () => {
    expect(describeForms(findWord('voltage', 'core')!)).toEqual([
      'core [GROUP] needs [+|- VOLTAGE]',
      'core [GROUP] fixed VOLTAGE',
    ])
  })

  it('leave no slot of the vocabulary without one', () => {
    for (const word of vocabulary) expect(describeForms(word).join(' | ')).not.toMatch(/undefined|\[\]|^$| {2}/)
  })

  it('say bounds in words', () => {
    expect(describeBounds({ above: 0 }, 'V')).toBe('above 0 V')
    expect(describeBounds({ min: 1, max: 64 }, '')).toBe('1 to 64')
    expect(describeBounds({ above: 0, max: 100 }, '%')).toBe('above 0 % and at most 100 %')
    expect(describeBounds({ min: 0, below: 5 }, 'x')).toBe('at least 0x and below 5x')
  })
})
