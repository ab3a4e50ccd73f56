import { describe, expect, it } from 'vitest'
import { fixed } from '../harness/check.ts'
import { demo, edited, messageOf, placesOf } from './demo.ts'

const code = 'fan-falling'

describe('fan-falling', () => {
  it('names both rows', async () => {
    expect(await placesOf(code, demo(code))).toEqual(['48 °C 50 %'])
    expect(await messageOf(code, demo(code))).toContain('50 % at 48 °C, 60 % at 34 °C')
  })

  it('lets equal duties pass, and rows in any order', async () => {
    expect(await placesOf(code, edited(demo(code), ['50 %', '60 %']))).toEqual([])
    const turned = edited(demo(code), ['    24 °C   30 %\n', ''], ['48 °C   50 %', '48 °C   80 %\n    24 °C   30 %'])
    expect(await placesOf(code, turned)).toEqual([])
  })

  it('is reported once, where the table stands', async () => {
    const text = `${demo(code)}\nprofile night based-on daily {\n  vector -1x\n}\n`
    expect(await placesOf(code, text)).toEqual(['48 °C 50 %'])
  })

  it('is fixed by the duty of the row before', async () => {
    expect(await fixed(code, demo(code))).toMatch(/48 °C +60 %/)
  })
})
