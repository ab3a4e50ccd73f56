import { describe, expect, it } from 'vitest'
import type { Value } from '../../grammar/values.ts'
import { readMarked } from './helpers.ts'

const row = (line: string) => readMarked(`part a {\n  known {\n    ${line} <<\n  }\n}\n`)

/** A value in its base unit. */
function valueText(value: Value): string {
  const spread =
    'uncertainty' in value && value.uncertainty !== undefined ? ` ± ${+value.uncertainty.toPrecision(12)}` : ''
  if (value.kind === 'quantity') return `${value.value} ${value.dimension}${spread}`
  return value.kind === 'number' ? `${value.value}${spread}` : `word ${'text' in value ? value.text : ''}`
}

/** The values that a line gives: it must match without a problem. */
function check(line: string, values: Readonly<Record<string, string>>): void {
  const { match, problems } = row(line)
  expect(problems).toEqual([])
  expect(match.sound).toBe(true)
  expect(Object.fromEntries([...match.values].map(([name, value]) => [name, valueText(value)]))).toEqual(values)
}

/** The problems that a line gives, all of them. */
function checkProblems(line: string, ...problems: string[]): void {
  const read = row(line)
  expect(read.problems).toEqual(problems)
  expect(read.match.sound).toBe(false)
}

describe('items in any order', () => {
  const all = {
    clock: '4.7 frequency',
    voltage: '1.236 voltage',
    power: '192 power',
    die: '76 temperature',
    vector: 'word vector',
    cores: '2',
    air: '22 temperature',
  }

  it('are told apart by their dimension, or by the word before them', () => {
    check('4.70 GHz 1.236 V 192 W 76 °C vector cores 2 air 22 °C', all)
    check('air 22 °C vector 76 °C cores 2 192 W 1236 mV 4700 MHz', all)
  })

  it('may each but one be missing, and may each carry `±`', () => {
    check('192 W', { power: '192 power' })
    check('fan 60 % ± 5', { fan: '60 percent ± 5' })
    check('4.70 GHz ± 1 % 192 W ± 3 W -4 °C ± 2 K coolant -20 °C activity 0.8 ± 0.1', {
      clock: '4.7 frequency ± 0.047',
      power: '192 power ± 3',
      die: '-4 temperature ± 2',
      coolant: '-20 temperature',
      activity: '0.8 ± 0.1',
    })
  })

  it('stand once', () => {
    checkProblems('192 W 76 °C 84 °C', 'again "84 °C"')
    checkProblems('192 W -3 °C -4 °C', 'again "-4 °C"')
    checkProblems('vector 192 W vector', 'again "vector"')
  })

  it('take a number without its unit for the reading that is due', () => {
    checkProblems('4.70 1.236 V 192 W', 'unit-missing "4.70" -> GHz')
    checkProblems('4.70 GHz 1.236 192 W', 'unit-missing "1.236" -> V')
    checkProblems('4.70 GHz 1.236 V 192 76 °C', 'unit-missing "192" -> W')
    checkProblems('192 W 76', 'unit-missing "76" -> °C')
    checkProblems('192 w 76 °C', 'unknown-word "w" of W')
  })

  it('know a value that stands before its word', () => {
    checkProblems('192 W 22 °C air', 'unknown-word "22 °C air" of air 22 °C')
    checkProblems('192 W 2 cores', 'unknown-word "2 cores" of cores 2')
    check('192 W 76 °C air 22 °C', { power: '192 power', die: '76 temperature', air: '22 temperature' })
  })

  it('say what else could stand there', () => {
    const { problems } = row('192 W 138 A')
    expect(problems[0]).toMatch(/^expected "138 A" a frequency in GHz, a voltage in V, .*`cores`, .*`fan`$/)
  })
})
