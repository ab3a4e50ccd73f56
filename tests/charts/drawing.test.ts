import { describe, expect, it } from 'vitest'
import { Drawing } from '../../server/charts/drawing.ts'
import { cutTo, textWidth } from '../../server/charts/measure.ts'
import { csvText } from '../../server/charts/picture.ts'
import { chartStyle, svgDataUri, svgFile } from '../../server/charts/style.ts'
import { thinned } from '../../server/charts/thin.ts'

const sheet = () => new Drawing({ width: 100, height: 50 })
const none = { head: [], rows: [] }

describe('a drawing', () => {
  it('writes no label over another, and none over the edge', () => {
    const drawing = sheet()
    expect(drawing.label('first', [{ x: 10, y: 20 }])).toBe(true)
    expect(
      drawing.label('second', [
        { x: 12, y: 22 },
        { x: 90, y: 40 },
      ]),
    ).toBe(false)
    expect(
      drawing.label('third', [
        { x: 12, y: 22 },
        { x: 10, y: 40 },
      ]),
    ).toBe(true)
    expect(drawing.finish('t', none).labels.map(({ text }) => text)).toEqual(['first', 'third'])
  })

  it('shows text as it is written, never as elements', () => {
    const drawing = sheet()
    drawing.text('</text><script>"x"&\u0000\u0007', { x: 1, y: 10 })
    drawing.mark({ sentence: '</title><a href="javascript:x">' }, () => drawing.circle(5, 5, 2, 'point'))
    const { body } = drawing.finish('t', none)
    expect(body).not.toMatch(/<script|<a /)
    expect([...body].filter(sign => sign < ' ')).toEqual([])
    expect(body).toContain('&lt;/text&gt;&lt;script&gt;&quot;x&quot;&amp;')
  })

  it('puts what belongs to a mark into one group, and marks the line of the cursor', () => {
    const drawing = new Drawing({ width: 9, height: 9, isHere: place => place.start === 3 })
    drawing.mark({ sentence: 'here', place: { uri: 'a', start: 3, end: 4 } }, () => drawing.circle(1, 1, 1, 'point'))
    drawing.mark({ sentence: 'there', place: { uri: 'a', start: 5, end: 6 } }, () => drawing.circle(2, 2, 1, 'point'))
    const { body, marks } = drawing.finish('t', none)
    expect(body).toMatch(
      /<g class="mark here" data-mark="0"><title>here<\/title><circle[^>]*\/><\/g><g class="mark" data-mark="1">/,
    )
    expect(marks.map(({ sentence }) => sentence)).toEqual(['here', 'there'])
  })
})

describe('text in a drawing', () => {
  it('is as wide as its signs, and is cut with a sign that says so', () => {
    expect(textWidth('WWWW', 10)).toBeGreaterThan(textWidth('iiii', 10) * 3)
    expect(textWidth('a', 20)).toBeCloseTo(2 * textWidth('a', 10))
    const cut = cutTo('a name that is much too long for its place', 10, 80)
    expect(cut.endsWith('…')).toBe(true)
    expect(textWidth(cut, 10)).toBeLessThanOrEqual(80)
    expect(cutTo('short', 10, 80)).toBe('short')
  })
})

describe('thinning', () => {
  it('keeps every extreme, the first and the last', () => {
    const points = Array.from({ length: 5000 }, (_, at) => ({ at, value: Math.sin(at / 40) }))
    points[1234] = { at: 1234, value: 9 }
    points[4321] = { at: 4321, value: -9 }
    const kept = thinned(points, 100)
    expect(kept.length).toBeLessThanOrEqual(400)
    expect(kept).toEqual(expect.arrayContaining([points[0], points[1234], points[4321], points[4999]]))
    expect(kept.map(({ at }) => at)).toEqual(kept.map(({ at }) => at).toSorted((a, b) => a - b))
  })

  it('leaves a short series alone', () => {
    const points = [
      { at: 0, value: 1 },
      { at: 1, value: 2 },
    ]
    expect(thinned(points, 10)).toBe(points)
  })
})

describe('figures as CSV', () => {
  it('have all their digits, and quotes where they are needed', () => {
    expect(
      csvText({
        head: ['a', 'b, c'],
        rows: [
          [0.1 + 0.2, null],
          ['x "y"', 'z'],
        ],
      }),
    ).toBe('a,"b, c"\r\n0.30000000000000004,\r\n"x ""y""",z\r\n')
  })
})

/** Relative luminance and contrast of WCAG 2.2, 1.4.3. */
function contrast(a: string, b: string): number {
  const luminance = (colour: string): number => {
    const [red = 0, green = 0, blue = 0] = [1, 3, 5].map(at => {
      const value = Number.parseInt(colour.slice(at, at + 2), 16) / 255
      return value <= 0.04045 ? value / 12.92 : ((value + 0.055) / 1.055) ** 2.4
    })
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue
  }
  const [high = 0, low = 0] = [luminance(a), luminance(b)].toSorted((x, y) => y - x)
  return (high + 0.05) / (low + 0.05)
}

describe('the colours', () => {
  const picture = sheet().finish('t', none)
  const palettes = [...svgFile(picture).matchAll(/\.detent-chart\{(--paper[^}]*)\}/g)]
    .map(([, text = '']) => Object.fromEntries(text.split(';').map(one => one.slice(2).split(':') as [string, string])))
    .filter(({ paper }) => paper?.startsWith('#'))

  it('can be read on their paper, light and dark', () => {
    expect(palettes.length).toBeGreaterThanOrEqual(2)
    for (const { paper = '', ink = '', soft = '', main = '', second = '', third = '', limit = '' } of palettes) {
      for (const text of [ink, soft, main, second, third, limit]) expect(contrast(text, paper)).toBeGreaterThan(4.5)
    }
  })

  it('of a picture without a ground stand out on white and on black', () => {
    const text = atob(svgDataUri(picture).split(',')[1] ?? '')
    const colours = [...text.matchAll(/--(ink|soft|main|second|third|limit):(#\w{6})/g)]
    expect(colours).toHaveLength(6)
    for (const [, , colour = ''] of colours) {
      expect(contrast(colour, '#ffffff')).toBeGreaterThan(3)
      expect(contrast(colour, '#1e1e1e')).toBeGreaterThan(3)
    }
  })

  it('give way to those of the system where it says so', () => {
    expect(svgFile(picture).indexOf('forced-colors')).toBeGreaterThan(
      svgFile(picture).lastIndexOf('prefers-color-scheme'),
    )
    expect(chartStyle).not.toMatch(/#[0-9a-f]{3,6}\b/)
  })
})
