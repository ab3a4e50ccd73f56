import { describe, expect, it } from 'vitest'
import { findWord, menuSettings } from '../../grammar/vocabulary/index.ts'
import { check, checkerOf, fixed } from '../harness/check.ts'
import { onBench } from '../harness/sound-bench.ts'

const checkWords = checkerOf('unknown-word')

describe('unknown-word', () => {
  it('finds a misspelt key, and nothing missing as well', async () => {
    const [finding] = await check(`detent 1
room loft {
  air 22 °C
  humidty 50 %
  ^^^^^^^ unknown-word
}
`)
    expect(finding?.message).toContain('Did you mean `humidity`?')
  })

  it('lets the right one pass', () => check('detent 1\nroom loft { air 22 °C; humidity 50 % }\n'))

  it('fixes it', async () => {
    expect(await fixed('unknown-word', 'detent 1\nroom loft { air 22 °C; humidty 50 % }\n')).toBe(
      'detent 1\nroom loft { air 22 °C; humidity 50 % }\n',
    )
  })

  it('says where a word belongs that stands elsewhere', async () => {
    const [finding] = await checkWords(`detent 1
room loft {
  air 22 °C
  humidity 50 %
  die-limit 90 °C
  ^^^^^^^^^ unknown-word
}
`)
    expect(finding?.message).toContain('It belongs in `part`.')
    expect(finding?.fixes).toBeUndefined()
  })

  it('finds a misspelt word inside a line', async () => {
    const fixture = onBench('  steps { 1 to 4 cores 46x }\n  expect weave hold >= 4.5 GHz')
    const [finding] = await checkWords(
      fixture.replace('  expect weave hold >= 4.5 GHz', '$&\n               ^^^^ unknown-word'),
    )
    expect(finding?.message).toContain('Did you mean `holds`?')
    expect(await fixed('unknown-word', fixture)).toContain('expect weave holds >= 4.5 GHz')
  })

  it('names every word that could stand there', async () => {
    const fixture = onBench('  steps { 1 to 4 cores 46x }\n  expect weave temp <= 80 °C')
    const [finding] = await checkWords(
      fixture.replace('  expect weave temp <= 80 °C', '$&\n               ^^^^ unknown-word'),
    )
    const words = (findWord('profile', 'expect')?.forms ?? []).flatMap(([, second]) =>
      second?.slot === 'choice' ? second.words : second?.slot === 'literal' ? [second.word] : [],
    )
    expect(words).toContain('current')
    for (const word of words) expect(finding?.message).toContain(`\`${word}\``)
  })

  it('finds a unit in the wrong case', async () => {
    expect(await fixed('unknown-word', 'detent 1\ncooler w kind chilled { capacity 300 w }\n')).toContain('300 W')
  })

  it('finds an unknown code in `allow`', async () => {
    const [finding] = await checkWords(`detent 1
allow steps-gapp "the board fills it in"
      ^^^^^^^^^^ unknown-word
`)
    expect(finding?.message).toBe(
      'No check is called `steps-gapp`, so this line accepts nothing. Did you mean `steps-gap`?',
    )
    const gap = onBench('  steps { 1 to 3 cores 46x }\n  allow steps-gapp "so"')
    expect(await fixed('unknown-word', gap)).toContain('allow steps-gap "so"')
  })

  const menu = (row: string): string => `detent 1\nboard b {\n  menu { ${row} "Page" "Field" }\n}\n`

  it.each([
    ['curent', 'current'],
    ['sustained', 'sustained-power'],
    ['voltage', 'core-voltage'],
  ])('finds a menu row for a setting that does not exist: %s', async (word, meant) => {
    expect(await fixed('unknown-word', menu(word))).toBe(menu(meant))
  })

  it('says which settings a menu row may name, and how others are written', async () => {
    const [finding] = await checkWords(`detent 1
board b {
  menu { multiplier "Page" "Field" }
         ^^^^^^^^^^ unknown-word
}
`)
    expect(finding?.message).toContain('left out of every sheet')
    for (const setting of menuSettings) expect(finding?.message).toContain(`\`${setting}\``)
    expect(finding?.message).toContain('in double quotes')
    expect(menuSettings.length).toBeGreaterThan(8)
    for (const setting of [...menuSettings, '"memory clock"']) expect(await check(menu(setting))).toEqual([])
  })

  it('says where a word stands that is not of this block', async () => {
    const [finding] = await checkWords('detent 1\ngroup small { }\n^^^^^ unknown-word\n')
    expect(finding?.message).toContain('`part`')
  })

  it('puts in a word that was left out', async () => {
    const text = await fixed(
      'unknown-word',
      'detent 1\ncooler w loop { block-resistance 0.05 K/W; radiator { 100 % 0.06 K/W } }\n',
    )
    expect(text).toContain('cooler w kind loop {')
  })
})
