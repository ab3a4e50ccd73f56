import { describe, expect, it } from 'vitest'
import { parseFile } from '../../grammar/file.ts'
import { partConstants } from '../../server/semantic/constants.ts'
import { type Definition, readChunk } from '../../server/semantic/definitions.ts'
import { knownPoints, saysSomething, tellsOfCooling } from '../../server/semantic/known.ts'

function partOf(known: string, more = ''): Definition {
  const text = `detent 1\npart willow {\n  cores 8\n  reference 100 MHz\n${more}  known {\n${known}\n  }\n}\n`
  const found = parseFile(text).chunks.flatMap(({ chunk }) => readChunk(chunk).definitions)
  return found[0]!
}

const pointOf = (row: string) => knownPoints(partOf(row))[0]!

describe('a point', () => {
  it('has its readings by dimension, in whatever order', () => {
    const point = pointOf('76 °C 4.70 GHz vector 192 W cores 2 1236 mV')
    const values = Object.fromEntries(Object.entries(point.readings).map(([figure, { value }]) => [figure, value]))
    expect(values).toEqual({ clock: 4.7, voltage: 1.236, power: 192, die: 76 })
    expect(point).toMatchObject({ vector: true, cores: 2, activity: { value: 1 } })
  })

  it('is of all cores at activity 1 and without vector units unless said', () => {
    expect(pointOf('4 GHz 90 W')).toMatchObject({ vector: false, cores: 8, activity: { value: 1 }, fan: undefined })
  })

  it('is worth what memory and sensors usually are, or what is stated', () => {
    const { readings } = pointOf('5 GHz 1.3 V 200 W 80 °C coolant 30 °C air 22 °C plate 50 °C')
    const worth = Object.fromEntries(Object.entries(readings).map(([key, one]) => [key, one.standardUncertainty]))
    expect(worth).toEqual({ clock: 0.01, voltage: 0.008, power: 4, die: 1.5, coolant: 1, air: 1, plate: 1 })
    const stated = pointOf('5 GHz ± 1 % 1.3 V ± 5 mV 200 W ± 8 W -3 °C ± 2 K').readings
    expect(stated.clock).toEqual({ value: 5, standardUncertainty: 0.05, isStated: true })
    expect(stated.voltage?.standardUncertainty).toBeCloseTo(0.005, 12)
    expect(stated.power?.standardUncertainty).toBe(8)
    expect(stated.die).toEqual({ value: -3, standardUncertainty: 2, isStated: true })
  })

  it.each([
    ['192 W 76 °C', true],
    ['4.7 GHz 1.236 V 192 W', true],
    ['4.7 GHz 1.236 V 76 °C', true],
    ['4.7 GHz 1.236 V', false],
    ['4.7 GHz 192 W', false],
    ['1.236 V 76 °C', false],
  ])('%s says something: %s', (row, says) => {
    expect(saysSomething(pointOf(row))).toBe(says)
  })

  it('tells of the cooling with a cooler end beside the die', () => {
    expect(tellsOfCooling(pointOf('192 W 76 °C'))).toBe(false)
    expect(tellsOfCooling(pointOf('192 W 76 °C air 22 °C'))).toBe(true)
    expect(tellsOfCooling(pointOf('192 W coolant 33 °C'))).toBe(false)
  })
})

describe('voltages that were seen', () => {
  const needsOf = (rows: string, more = '') =>
    (partConstants(partOf(rows, more)).assumed ?? []).filter(one => one.startsWith('needs '))

  it('stand for `needs`, at the ratio next to the clock', () => {
    expect(needsOf('4.701 GHz 1.236 V\n3.65 GHz 0.988 V', '  ratio-step 0.5x\n')).toEqual([
      'needs 36.5x 0.988 V',
      'needs 47x 1.236 V',
    ])
  })

  it('never fall with the ratio: what was enough for more is enough for less', () => {
    expect(needsOf('4.9 GHz 1.30 V\n4.9 GHz 1.27 V\n5.0 GHz 1.25 V\n5.2 GHz 1.35 V')).toEqual([
      'needs 49x 1.25 V',
      'needs 50x 1.25 V',
      'needs 52x 1.35 V',
    ])
  })

  it('stand less what temperature and vector load ask for', () => {
    const more = '  needs-at 60 °C\n  needs-slope 1 mV/K\n  vector-needs 20 mV\n'
    expect(needsOf('5 GHz 1.30 V 80 °C vector', more)).toEqual(['needs 50x 1.26 V'])
  })

  it('are no voltages of a ratio that the part does not have', () => {
    expect(needsOf('5 GHz 1.30 V\n9 GHz 1.20 V', '  ratio 8x to 60x\n')).toEqual(['needs 50x 1.3 V'])
  })

  it('give way to a table', () => {
    expect(needsOf('5 GHz 1.30 V', '  needs { 50x 1.2 V }\n')).toEqual([])
  })
})
