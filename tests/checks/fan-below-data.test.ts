import { describe, expect, it } from 'vitest'
import { fixed } from '../harness/check.ts'
import { demo, edited, messageOf, placesOf } from './demo.ts'

const code = 'fan-below-data'

describe('fan-below-data', () => {
  it('names the duty and the lowest one measured', async () => {
    expect(await placesOf(code, demo(code))).toEqual(['24 °C 10 %'])
    expect(await messageOf(code, demo(code))).toMatch(/10 % duty, the lowest `radiator` row is 20 %/)
  })

  it('lets the lowest measured duty pass, and rows that no load comes to', async () => {
    expect(await placesOf(code, edited(demo(code), ['10 %', '20 %']))).toEqual([])
    expect(await placesOf(code, edited(demo(code), ['24 °C   10 %', '2 °C   10 %\n    10 °C   40 %']))).toEqual([])
  })

  it('judges a stopped fan by the lowest row, and says that it is worse', async () => {
    const stopped = edited(demo(code), ['10 %', '0 %'])
    expect(await placesOf('value-range', stopped)).toEqual([])
    expect(await placesOf(code, stopped)).toEqual(['24 °C 0 %'])
    expect(await messageOf(code, stopped)).toContain('0 % duty')
    expect(await messageOf(code, stopped)).toContain('far less with the fan stopped')
  })

  it('is fixed in every row below the data', async () => {
    expect(await fixed(code, demo(code))).toMatch(/24 °C +20 %/)
    const two = edited(demo(code), ['24 °C   10 %', '24 °C   10 %\n    28 °C   15 %'])
    expect(await fixed(code, two)).toMatch(/24 °C +20 %\n +28 °C +20 %/)
  })
})
