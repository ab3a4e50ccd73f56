import { describe, expect, it } from 'vitest'
import { type Place, vocabulary, type Word } from '../../grammar/vocabulary/index.ts'
import type { Prediction } from '../../server/semantic/predict.ts'
import { loadAtCursor, uriOf } from '../harness/fixture.ts'
import { bench } from './bench.ts'
import { at, figure, hoverIn, profile, rows, settled } from './hovered.ts'

describe('definitions', () => {
  it('a room shows the dew point of each corner, with formula and inputs', async () => {
    const { text, predictions } = await hoverIn(at('garage\n  board'))
    const table = rows(text).slice(1)
    expect(table).toHaveLength(4)
    for (const [air, humidity, dew] of table) {
      const one = settled(predictions, 'idle', figure(air, '°C'), figure(humidity, '%'))
      expect(Math.abs(figure(dew, '°C') - one.wetC)).toBeLessThan(0.05001)
    }
    expect(text).toContain('Magnus form')
    expect(text).toContain('243.12 °C')
  })

  it('a room below freezing shows the frost point, the one that counts', async () => {
    const cold = bench.replace('air 18 °C to 24 °C', 'air 2 °C').replace('humidity 40 % to 55 %', 'humidity 60 %')
    const { text, predictions } = await hoverIn(at('garage\n  board', cold + profile))
    const [head, row] = rows(text)
    expect(head?.[3]).toBe('Frost point')
    expect(Math.abs(figure(row?.[3], '°C') - settled(predictions, 'idle', 2, 60).wetC)).toBeLessThan(0.05001)
  })

  it('a load shows what it comes to in each profile, also from the file it is defined in', async () => {
    const text = `--- bench.detent\n${at('render {', bench)}--- a.detent\nuse "bench.detent"\n${profile}`
    const { service, cursor } = await loadAtCursor(text)
    expect(cursor.uri).toBe(uriOf('bench.detent'))
    const hover = service.features.hover(cursor.uri, cursor.offset)
    const [, row] = rows(hover?.text ?? '')
    expect(row?.[0]).toBe('daily (12 cores), 24 °C, 55 %')
    const predictions = service.evaluations(uriOf('a.detent')).flatMap(one => one.predictions)
    const warm = settled(predictions, 'render', 24, 55)
    expect(Math.abs(figure(row?.[1], 'GHz') * 1000 - (warm.clockMhz ?? 0))).toBeLessThan(5)
    expect(row?.[3]).toContain(warm.limiter)
  })

  it('a thermoelectric cooler shows the constants drawn from its datasheet', async () => {
    const { text } = await hoverIn(at('te-plate kind'))
    // By hand from the datasheet: 15.4 V / 300.15 K; (15.4 V / 15 A)(232.15/300.15); 15.4·15·232.15/(2·300.15·68).
    expect(text).toContain('51.3 mV/K')
    expect(text).toContain('0.794 Ω')
    expect(text).toContain('1.31 W/K')
  })

  it('a loop shows its resistance at each duty and the heat that is put into it', async () => {
    const { text, predictions } = await hoverIn(
      at('big-loop kind', bench + profile.replace('te-plate', 'big-loop').replace(/ {2}drive.*\n/, '')),
    )
    expect(text).toMatch(/\| 20 % +\| 0\.090 K\/W +\| 0\.140 K\/W +\| 28\.0 K +\|/)
    const powers = predictions.map(one => one.settled.powerW ?? 0)
    expect(figure(rows(text)[1]?.[1], 'W')).toBeCloseTo(Math.max(...powers), 0)
  })

  it('a part shows the power of all cores at each measured ratio', async () => {
    const { text } = await hoverIn(at('sample-b7 {'))
    // 12 · 2.1 nF · 1.225² V² · 5 GHz + 16 W · (1.225/1.2)³ + 14 W.
    expect(rows(text).find(row => row[0] === '50x')).toEqual(['50x', '5.00 GHz', '1.225 V', '220 W'])
    expect(text).toContain('Assumed: `trip')
  })

  it('shows notes and sources', async () => {
    const noted = bench.replace(
      '  cores 12\n  reference',
      '  note "lapped"\n  source "own probe"\n  cores 12\n  reference',
    )
    const { text } = await hoverIn(at('sample-b7\n  cooler', noted + profile))
    expect(text).toContain('Note: lapped')
    expect(text).toContain('Source: own probe')
  })

  it('says where a name is not known', async () => {
    const { text } = await hoverIn(at('nobody', bench + profile.replace('room garage', 'room nobody')))
    expect(text).toContain('No room is called `nobody`')
  })

  it('knows the built-in loads', async () => {
    const { text } = await hoverIn(at('idle', bench + profile.replace('render holds >= 4.7 GHz', 'idle die <= 60 °C')))
    expect(text).toContain('load **idle**')
  })
})

describe('settings', () => {
  it('voltage shows set voltages after rounding, the need, and what is spare under load', async () => {
    const { text, predictions } = await hoverIn(at('voltage {'))
    const row = rows(text).find(one => one[0]?.startsWith('54x'))
    expect(row?.[1]).toBe('1.350 V')
    expect(row?.[2]).toBe('1.340 V')
    const spares = predictions.flatMap(one =>
      one.settled.notes.voltages.filter(two => two.ratio === 57).map(two => two.voltageV - two.needV),
    )
    expect(spares.length).toBeGreaterThan(0)
    expect(figure(rows(text).find(one => one[0]?.startsWith('57x'))?.[3], 'mV')).toBeCloseTo(
      Math.min(...spares) * 1000,
      0,
    )
  })

  it('limits stand beside the highest figure that is reached', async () => {
    const { text, predictions } = await hoverIn(at('limits {'))
    const currents = predictions.map(one => one.settled.currentA ?? 0)
    const row = rows(text).find(one => one[0] === 'current')
    expect(row?.[1]).toBe('180 A')
    expect(Math.abs(figure(row?.[2], 'A') - Math.max(...currents))).toBeLessThan(0.51)
  })

  it('drive shows the plate over the dew point where they come closest', async () => {
    const { text, predictions } = await hoverIn(at('drive dew'))
    const row = rows(text).find(one => one[0]?.startsWith('idle'))
    const spares = predictions
      .filter(one => one.load.name === 'idle')
      .map(one => (one.settled.plateC ?? Number.NaN) - one.settled.wetC)
    expect(Math.abs(figure(row?.[3], 'K') - Math.min(...spares))).toBeLessThan(0.05001)
  })
})

describe('keys of the bench', () => {
  const driven = bench.replace(
    '  modules 3',
    '  drive-when-off yes\n  plate-heat 200 J/K\n  coolant-heat 4000 J/K\n  modules 3',
  )

  it.each([
    'block-resistance 0.03',
    'drive-when-off',
    'plate-heat 200',
    'coolant-heat 4000',
    'drive-current',
    'modules 3',
  ])('of a cooler show their own meaning and figures, not the whole cooler: %s', async mark => {
    const { text } = await hoverIn(at(mark, driven + profile))
    const word = vocabulary.find(one => one.in.includes('cooler') && one.word === mark.split(' ')[0])
    expect(text.split('\n\n')[1]).toBe(word?.means)
    expect(text).not.toContain('cooler **te-plate**')
    if (word?.caution !== undefined) expect(text.indexOf(word.caution)).toBeLessThan(600)
  })

  it('of a cooler come to what one would work out by hand', async () => {
    const shown = async (mark: string): Promise<string> => (await hoverIn(at(mark, driven + profile))).text
    expect(await shown('block-resistance 0.03')).toContain('Each 100 W makes 3.00 K over it.')
    // 100 W for 60 s into 200 J/K and into 4000 J/K.
    expect(await shown('plate-heat 200')).toContain('by 30.0 K a minute')
    expect(await shown('coolant-heat 4000')).toContain('by 1.50 K a minute')
    for (const [mark, accepts] of [
      ['drive-when-off', (one: Prediction) => one.load.name === 'off'],
      ['insulated yes', () => true],
    ] as const) {
      const base = driven.replace('  modules 3', '  insulated yes\n  modules 3') + profile
      const { text, predictions } = await hoverIn(at(mark, base))
      const spares = predictions.filter(accepts).map(one => (one.settled.plateC ?? Number.NaN) - one.settled.wetC)
      expect(spares.length).toBeGreaterThan(0)
      const [, kelvin, side] = /°C, (\S+) K (above|below) its dew/.exec(text) ?? []
      const least = Math.min(...spares)
      expect(side).toBe(least < 0 ? 'below' : 'above')
      expect(Math.abs(Number(kelvin) - Math.abs(least))).toBeLessThan(0.0501)
    }
  })

  it('a row of needs shows its slope and what the profiles set there', async () => {
    const { text } = await hoverIn(at('50x   1.225 V', bench + profile))
    expect(text).toContain('**50x needs 1.225 V**')
    expect(text).not.toContain('part **sample-b7**')
    // The bench's next row is 54x at 1.340 V: 115 mV over 4x.
    expect(text).toContain('To 54x 115 mV more: 29 mV for each 1x (100 MHz).')
    // needs + 10 mV on a grid of 5 mV.
    expect(rows(text)[1]).toEqual(['daily', '1.235 V', '10 mV'])
    const last = await hoverIn(at('57x   1.450 V', bench + profile))
    expect(last.text).toContain('The highest ratio that was measured')
  })

  it('what a cooler takes is worded by its kind, and a dash says what it means', async () => {
    const tower = bench + profile.replace('te-plate', 'big-loop').replace(/ {2}drive.*\n/, '')
    const { text } = await hoverIn(at('big-loop kind', tower))
    expect(text).toContain('As `daily` runs the fan')
    expect(text).not.toContain('drives plate')
    const plate = (await hoverIn(at('te-plate kind'))).text
    expect(plate).toContain('As `daily` drives plate and fan')
    expect(plate).not.toContain('stands where')
    const cold = bench
      .replace('big-loop kind loop {', 'tank kind chilled {\n  coolant 8 °C\n  capacity 300 W\n  beyond 0.1 K/W')
      .replace(/block-resistance 0.05 K\/W\n {2}radiator \{[^}]*\}/, 'block-resistance 0.05 K/W')
    const chilled = (
      await hoverIn(at('tank kind', cold + profile.replace('te-plate', 'tank').replace(/ {2}(?:drive|fan).*\n/g, '')))
    ).text
    expect(chilled).toContain('With the coolant as the chiller holds it')
    // At 18 °C, 40 % the dew point is 4.2 °C, which a coolant of 8 °C never comes to; at 24 °C, 55 % it is 14.4 °C.
    expect(rows(chilled).find(row => row[0] === 'is at the dew or frost point')?.[1]).toBe('–')
    expect(chilled).toContain('A `–` means that the plate is warmer than that even without heat.')
  })
})

describe('words', () => {
  /** The heads of the blocks that lead to a place, as the vocabulary's own examples write them. */
  function headsOf(place: Place): readonly string[] {
    const opener = vocabulary.find(word => word.block === place)
    const outer = opener?.in[0]
    if (opener === undefined || outer === undefined) return []
    return [...headsOf(outer), opener.example.slice(0, opener.example.indexOf('{')).trim()]
  }

  const entries = vocabulary.flatMap(word =>
    word.in.map(place => [`${place} ${word.word || 'row'}`, place, word] as const),
  )

  it.each(entries)('%s has its meaning, default, source and caution', async (_name, place, word: Word) => {
    const around = headsOf(place)
    const example = word.example.replace('{ … }', '{ }')
    const text = `${around.map(head => `${head} {\n`).join('')}$0${example}\n${'}\n'.repeat(around.length)}`
    const shown = (await hoverIn(text)).text
    if (word.word !== '') expect(shown).toContain(word.means)
    if (word.default !== undefined) expect(shown).toContain(word.default.text)
    if (word.caution !== undefined) expect(shown).toContain(word.caution)
    if (word.source !== undefined && word.word !== '') expect(shown).toContain(word.source)
  })

  it.each(['# a $0comment\n', 'room r {$0\n}\n', 'room r {\n  air 20 °C \n$0\n}\n'])(
    'nothing is shown in %j',
    async text => {
      const { service, cursor } = await loadAtCursor(text)
      expect(service.features.hover(cursor.uri, cursor.offset)).toBeUndefined()
    },
  )
})
