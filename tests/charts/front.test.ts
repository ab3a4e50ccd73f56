import { describe, expect, it } from 'vitest'
import { drawClocks } from '../../server/charts/clocks.ts'
import { drawGains } from '../../server/charts/gains.ts'
import { wrapped } from '../../server/charts/measure.ts'
import { pictureFaults } from './faults.ts'

const figures = { head: [], rows: [] }
const sizes = [
  { width: 460, height: 264 },
  { width: 760, height: 480 },
  { width: 340, height: 300 },
]

describe('clocks in one plot', () => {
  const line = (name: string, clocks: readonly number[]) => ({
    name,
    points: clocks.map((clockGhz, index) => ({ cores: index + 1, clockGhz, sentence: `${name} ${index + 1}` })),
  })
  const names = ['one-profile', 'another', 'a-third-with-a-long-name', 'fourth', 'fifth', 'sixth']
  const data = {
    title: 'Clock by active cores',
    note: 'as invented here',
    // All end at the same clock: their names must not lie on each other.
    lines: names.map((name, index) => line(name, [5.5 - index / 10, 5.2, 5, 4.8])),
    figures,
  }

  it.each(sizes)('have clear labels at $width × $height', size => {
    expect(pictureFaults(drawClocks(data, size))).toEqual([])
  })

  it('are told apart by shape and colour: no two of six look alike', () => {
    const { body } = drawClocks(data, { width: 760, height: 480 })
    const looks = names.map(name => {
      const [group = ''] =
        new RegExp(`<g class="mark" data-mark="\\d+"><title>${name} 4</title>.*?</g>`).exec(body) ?? []
      const [, shape = '', colour = ''] = /<(circle|rect|path) class="shape (\w+)-shape"/.exec(group) ?? []
      return `${shape} ${colour} ${/ d="[^"]*"/.exec(group)?.[0].replaceAll(/[\d.]+/g, '') ?? ''}`
    })
    expect(new Set(looks).size).toBe(names.length)
  })

  it('leave out a count that has no clock, and a profile without any', () => {
    const bare = { ...data, lines: [line('one', [5]), line('none', [])] }
    expect(drawClocks(bare, sizes[0] as (typeof sizes)[number]).marks).toHaveLength(1)
  })
})

describe('gains against a baseline', () => {
  const rows = [
    { name: 'worse', gainPct: -3, intervalPct: [-5, -1] as const, sentence: 'worse' },
    { name: 'better', gainPct: 8, intervalPct: [6, 10] as const, sentence: 'better' },
    { name: 'one-score', gainPct: 2, intervalPct: undefined, sentence: 'one score' },
  ]
  const data = { title: 'Scores against day', note: 'as invented here', rows, figures }

  it.each(sizes)('have clear labels at $width × $height', size => {
    expect(pictureFaults(drawGains(data, size))).toEqual([])
  })

  it('are sorted, the largest first, with the line of no gain and an interval where there is one', () => {
    const picture = drawGains(data, { width: 460, height: 264 })
    expect(picture.marks.map(({ sentence }) => sentence)).toEqual(['better', 'one score', 'worse'])
    expect(picture.labels.map(({ text }) => text)).toEqual(expect.arrayContaining(['gain, %', '0']))
    expect(picture.body.match(/class="whisker"/g)).toHaveLength(2)
    expect(picture.body.match(/class="hollow"/g)).toHaveLength(1)
    const zero = Number(/<line class="edge" x1="([\d.]+)"/.exec(picture.body)?.[1])
    const dots = [...picture.body.matchAll(/<circle class="(?:point|hollow)" cx="([\d.]+)"/g)].map(([, x]) => Number(x))
    expect(dots[0]).toBeGreaterThan(zero)
    expect(dots[2]).toBeLessThan(zero)
  })

  it('grow with their rows', () => {
    const many = {
      ...data,
      rows: Array.from({ length: 30 }, (_, at) => ({ ...(rows[1] as (typeof rows)[1]), gainPct: at })),
    }
    expect(pictureFaults(drawGains(many, { width: 460, height: 264 }))).toEqual([])
  })
})

describe('text in several lines', () => {
  it('is broken between words, and cut only at the end', () => {
    const text = 'a sentence of some words that does not fit into one line of this width'
    const lines = wrapped(text, 11, 150, 9)
    expect(lines.length).toBeGreaterThan(2)
    expect(lines.join(' ')).toBe(text)
    expect(wrapped(text, 11, 150, 2)).toHaveLength(2)
    expect(wrapped(text, 11, 150, 2)[1]).toMatch(/…$/)
    expect(wrapped('short', 11, 150, 3)).toEqual(['short'])
  })

  it('keeps a number and its unit together, however narrow the line', () => {
    const text = 'At 22.5 °C, 45 % on 12 cores; 2.9 ± 1.2 K.'
    for (let width = 20; width < 240; width += 5) {
      const lines = wrapped(text, 11, width, 20)
      expect(lines.every(line => !/^(?:°C|%|cores|K)/.test(line))).toBe(true)
    }
    expect(wrapped(text, 11, 100, 20).join(' ')).toBe(text)
  })
})
