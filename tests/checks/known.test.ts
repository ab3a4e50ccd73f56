import { describe, expect, it } from 'vitest'
import { parseFile } from '../../grammar/file.ts'
import { format } from '../../grammar/printer.ts'
import { check, checkerOf, fixed } from '../harness/check.ts'
import { loadFixture, uriOf } from '../harness/fixture.ts'
import { onBench, soundBench } from '../harness/sound-bench.ts'

/** Findings of what was seen of a part. The part has 4 cores, 8x to 50x of 100 MHz and a die limit of 95 °C. */

const steps = '  steps { 1 to 4 cores 46x }'

/** The sound bench whose part has these rows; caret lines between them stay where they are. */
const seen = (rows: string): string =>
  onBench(steps).replace('part willow-4 {\n', `part willow-4 {\n  known {\n${rows}\n  }\n`)

describe('known-says-nothing', () => {
  const one = checkerOf('known-says-nothing')

  it('is a row with less than two of power, die temperature, and clock with voltage', async () => {
    const found = await one(
      seen(`    4.60 GHz  90 W
    ^^^^^^^^^^^^^^ known-says-nothing
    1.20 V  64 °C  air 22 °C
    ^^^^^^^^^^^^^^^^^^^^^^^^ known-says-nothing
    cores 2  vector
    ^^^^^^^^^^^^^^^ known-says-nothing
    4.60 GHz  1.15 V
    ^^^^^^^^^^^^^^^^ known-says-nothing`),
    )
    expect(found.map(({ message }) => /it has ([^.]*)\./.exec(message)?.[1])).toEqual([
      'only a clock and a power',
      'only a voltage and a die temperature',
      'none of them',
      'only a clock and a voltage',
    ])
    expect(found.map(({ severity }) => severity)).toEqual(['warning', 'warning', 'warning', 'information'])
    expect(found.at(-1)?.message).toContain('Its voltage still counts as one that held.')
  })

  it('is not found with any two', async () => {
    await one(seen('    90 W  64 °C  air 22 °C\n    4.60 GHz  1.15 V  90 W\n    4.60 GHz  1.15 V  64 °C  air 22 °C'))
  })
})

describe('known-without-cooling', () => {
  const one = checkerOf('known-without-cooling')

  it('is a die temperature without anything cooler beside it', async () => {
    await one(
      seen(`    4.60 GHz  1.15 V  90 W  64 °C  fan 60 %
    ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ known-without-cooling
    4.60 GHz  1.15 V  90 W  64 °C  air 22 °C
    4.60 GHz  1.15 V  90 W  64 °C  coolant 30 °C
    4.60 GHz  1.15 V  90 W  64 °C  plate 40 °C
    4.60 GHz  1.15 V  90 W`),
    )
  })

  it('does not come on top of a point that says nothing', () =>
    check(seen('    1.20 V  64 °C\n    ^^^^^^^^^^^^^ known-says-nothing'), {
      only: ['known-says-nothing', 'known-without-cooling'],
    }))
})

describe('known-impossible', () => {
  const one = checkerOf('known-impossible')

  it('is more cores than the part has, fixed to all of them', async () => {
    const text = (cores: string): string => seen(`    4.60 GHz  1.15 V  90 W  cores ${cores}`)
    await one(text('5\n                                  ^ known-impossible'))
    await one(text('4'))
    expect(await fixed('known-impossible', text('12'), { file: 'bench.detent' })).toContain('90 W  cores 4\n')
  })

  it('is a clock that no ratio gives, but for what a reference clock is off', async () => {
    await one(
      seen(`    5.06 GHz  1.15 V  90 W
    ^^^^^^^^ known-impossible
    5.04 GHz  1.15 V  90 W
    0.79 GHz  1.15 V  9 W
    ^^^^^^^^ known-impossible
    800 MHz  1.15 V  9 W`),
    )
  })

  it('is a die beyond the trip temperature, or colder than its plate', async () => {
    await one(
      seen(`    4.60 GHz  1.15 V  90 W  111 °C  air 22 °C
                            ^^^^^^ known-impossible
    4.60 GHz  1.15 V  90 W  109 °C  air 22 °C
    4.60 GHz  1.15 V  90 W  36 °C  plate 40 °C
                            ^^^^^ known-impossible
    4.60 GHz  1.15 V  90 W  38 °C  plate 40 °C`),
    )
  })
})

describe('a slip in a row', () => {
  const all = { only: ['syntax', 'unknown-word', 'unit-missing', 'unit-mismatch', 'value-range', 'magnitude'] }

  it.each([
    [
      'a number without its unit, by the reading that is due',
      '4.60 GHz 1.15 90 W',
      '1.15',
      'unit-missing',
      '4.60 GHz  1.15 V   90 W',
    ],
    ['the first of them', '4.60 1.15 V 90 W', '4.60', 'unit-missing', '4.60 GHz  1.15 V   90 W'],
    ['kelvin for degrees', '1.15 V 4.6 GHz 64 K', '64 K', 'unit-mismatch', '1.15 V   4.6 GHz   64 °C'],
    [
      'a word behind its value',
      '4.6 GHz 1.15 V 90 W 22 °C air',
      '22 °C air',
      'unknown-word',
      '4.6 GHz   1.15 V   90 W   air 22 °C',
    ],
    [
      'cores as elsewhere',
      '4.6 GHz 1.15 V 90 W 2 cores',
      '2 cores',
      'unknown-word',
      '4.6 GHz   1.15 V   90 W   cores 2',
    ],
    ['one core', '1 core 4.6 GHz 1.15 V 90 W', '1 core', 'unknown-word', 'cores 1  4.6 GHz   1.15 V   90 W'],
    [
      'a misspelt word',
      '4.6 GHz 1.15 V 90 W colant 30 °C',
      'colant',
      'unknown-word',
      '4.6 GHz   1.15 V   90 W   coolant 30 °C',
    ],
    [
      'a misspelt word at the beginning',
      'vectr 4.6 GHz 1.15 V 90 W',
      'vectr',
      'unknown-word',
      'vector  4.6 GHz   1.15 V   90 W',
    ],
  ])('%s is one finding with a fix', async (_, row, under, code, after) => {
    const at = row.indexOf(under)
    await check(seen(`    ${row}\n    ${' '.repeat(at)}${'^'.repeat(under.length)} ${code}`), all)
    const text = await fixed(code, seen(`    ${row}`), {
      file: 'bench.detent',
      brings: ['known-without-cooling', 'needs-untested'],
    })
    expect(format(parseFile(text))).toContain(`\n    ${after}\n`)
  })

  it.each([
    ['a second reading of a kind', '4.6 GHz 90 W 1.15 V 95 W', '95 W', 'syntax'],
    ['a second word', '4.6 GHz 1.15 V 90 W cores 2 cores 3', 'cores', 'syntax'],
    ['a current', '4.6 GHz 1.15 V 90 A', '90 A', 'syntax'],
    ['a power beyond any part', '4.6 GHz 1.15 V 90 kW', '90 kW', 'magnitude'],
    ['no core', '4.6 GHz 1.15 V 90 W cores 0', '0', 'value-range'],
  ])('%s is one finding', async (_, row, under, code) => {
    const at = row.lastIndexOf(under)
    const [found] = await check(seen(`    ${row}\n    ${' '.repeat(at)}${'^'.repeat(under.length)} ${code}`), all)
    expect(found?.message.length).toBeGreaterThan(40)
  })
})

describe('what was seen', () => {
  it('does not keep a part from being judged that states what it needs', async () => {
    const expecting = onBench(`${steps}\n  expect weave die <= 90 °C`)
    const holds = async (text: string): Promise<boolean | null | undefined> => {
      const { service } = await loadFixture(text)
      return service.expectations(service.evaluations(uriOf('a.detent'))[0]!)[0]?.holds
    }
    const withRow = (row: string): string =>
      expecting.replace('part willow-4 {\n', `part willow-4 {\n  known { ${row} }\n`)
    const without = (row: string): string => withRow(row).replace(/ {2}needs \{[\s\S]*?\}\n/, '')
    for (const row of ['4.6 GHz 1.15 X', '4.6 GHz 1.15 V 90 kW']) {
      expect(await holds(withRow(row))).toBe(true)
      expect(await holds(without(row))).not.toBe(true)
    }
    expect(await holds(without('4.6 GHz 1.15 V 90 W'))).toBe(true)
  })

  it('is found in no part that has none', () => check(soundBench, { only: ['known-says-nothing', 'known-impossible'] }))
})
