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
    clock: '4.9 frequency',
    voltage: '1.278 voltage',
    power: '285 power',
    die: '83 temperature',
    vector: 'word vector',
    cores: '2',
    air: '22 temperature',
  }

  it('are told apart by their dimension, or by the word before them', () => {
    check('4.90 GHz 1.278 V 285 W 83 °C vector cores 2 air 22 °C', all)
    check('air 22 °C vector 83 °C cores 2 285 W 1278 mV 4900 MHz', all)
  })

  it('may each but one be missing, and may each carry `±`', () => {
    check('285 W', { power: '285 power' })
    check('fan 60 % ± 5', { fan: '60 percent ± 5' })
    check('4.90 GHz ± 1 % 285 W ± 3 W -4 °C ± 2 K coolant -20 °C activity 0.8 ± 0.1', {
      clock: '4.9 frequency ± 0.049',
      power: '285 power ± 3',
      die: '-4 temperature ± 2',
      coolant: '-20 temperature',
      activity: '0.8 ± 0.1',
    })
  })

  it('stand once', () => {
    checkProblems('285 W 83 °C 84 °C', 'again "84 °C"')
    checkProblems('285 W -3 °C -4 °C', 'again "-4 °C"')
    checkProblems('vector 285 W vector', 'again "vector"')
  })

  it('take a number without its unit for the reading that is due', () => {
    checkProblems('4.90 1.278 V 285 W', 'unit-missing "4.90" -> GHz')
    checkProblems('4.90 GHz 1.278 285 W', 'unit-missing "1.278" -> V')
    checkProblems('4.90 GHz 1.278 V 285 83 °C', 'unit-missing "285" -> W')
    checkProblems('285 W 83', 'unit-missing "83" -> °C')
    checkProblems('285 w 83 °C', 'unknown-word "w" of W')
  })

  it('know a value that stands before its word', () => {
    checkProblems('285 W 22 °C air', 'unknown-word "22 °C air" of air 22 °C')
    checkProblems('285 W 2 cores', 'unknown-word "2 cores" of cores 2')
    check('285 W 83 °C air 22 °C', { power: '285 power', die: '83 temperature', air: '22 temperature' })
  })

  it('say what else could stand there', () => {
    const { problems } = row('285 W 138 A')
    expect(problems[0]).toMatch(/^expected "138 A" a frequency in GHz, a voltage in V, .*`cores`, .*`fan`$/)
  })
})
