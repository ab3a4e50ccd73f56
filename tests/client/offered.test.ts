import { describe, expect, it } from 'vitest'
import { closingWhole } from '../../client/offered.ts'

/** A list of completions that is closed before the server has answered. */

type Closing = ReturnType<typeof closingWhole>
type Items = readonly { label: string; filterText?: string }[]

/** A cursor at the end of one line, in the shape that the editor gives. */
function asking(closing: Closing) {
  let asked = 0
  return {
    asked: () => asked,
    /** What the editor is given; `start` is where the server's items begin, `items` what it would answer. */
    at: async (text: string, start: number, items: Items, line = 4, uri = 'file:///a.detent') => {
      const document = { uri: { toString: () => uri }, lineAt: () => ({ text: `${text}   # rest` }) }
      const range = { start: { line, character: start }, end: { line, character: text.length } }
      const found = await closing(
        document as never,
        { line, character: text.length } as never,
        {} as never,
        {} as never,
        async () => {
          asked++
          return { isIncomplete: items.length > 0, items: items.map(one => ({ ...one, range })) } as never
        },
      )
      const all = (Array.isArray(found) ? found : (found as { items: Items } | null)?.items) as Items
      return all.map(one => one.label)
    },
  }
}

const volts: Items = [{ label: 'mV' }, { label: 'V' }]
const degrees: Items = [{ label: '°C', filterText: 'degC °C C ºC' }, { label: 'K' }]

describe('a list of completions', () => {
  it.each([
    ['a unit', '36x  0.940 ', 'V', volts],
    ['a longer one, letter by letter', '36x  0.940 ', 'mV', volts],
    ['one by its letters', 'air 95 ', 'degC', degrees],
    ['one by another sign', 'air 95 ', 'ºC', degrees],
  ])('is closed without the server once %s is whole', async (_, before, typed, items) => {
    const { at, asked } = asking(closingWhole())
    expect(await at(before, before.length, items)).toHaveLength(2)
    for (let letters = 1; letters < typed.length; letters++) {
      expect(await at(before + typed.slice(0, letters), before.length, items)).toHaveLength(2)
    }
    expect(await at(before + typed, before.length, items)).toEqual([])
    expect(asked()).toBe(typed.length)
  })

  it('goes on where only a sign is left out, or a name may go on', async () => {
    const { at } = asking(closingWhole())
    await at('air 95 ', 7, degrees)
    expect(await at('air 95 C', 7, degrees)).toHaveLength(2)
    await at('  n', 2, [{ label: 'needs' }, { label: 'needs-at' }])
    expect(await at('  needs', 2, [])).toEqual([])
    expect(await at('  needs-', 2, [{ label: 'needs-at' }])).toEqual(['needs-at'])
  })

  it('is the server’s in another line, another file, and behind another text', async () => {
    for (const [text, line, uri] of [
      ['36x  0.940 V', 5, 'file:///a.detent'],
      ['36x  0.940 V', 4, 'file:///b.detent'],
      ['40x  0.940 V', 4, 'file:///a.detent'],
    ] as const) {
      const { at, asked } = asking(closingWhole())
      await at('36x  0.940 ', 11, volts)
      expect(await at(text, 11, volts, line, uri)).toHaveLength(2)
      expect(asked()).toBe(2)
    }
  })
})
