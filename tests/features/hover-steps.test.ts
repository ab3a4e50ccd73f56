import { describe, expect, it } from 'vitest'
import { bench } from './bench.ts'
import { at, figure, hoverIn, profile, rows, settled } from './hovered.ts'

describe('a row of steps', () => {
  it('shows the predicted clock, die temperature and margin of each load it covers', async () => {
    const { text, covered, predictions } = await hoverIn(at('7 to 12 cores  50x'))
    expect(covered).toBe('7 to 12 cores  50x')
    const [warmHead, warmest, coolHead, coolest] = rows(text)
    expect(warmHead).toEqual(['24 °C, 55 %', 'Clock', 'Die, margin', 'Limiter'])
    expect(coolHead).toEqual(['18 °C, 40 %', 'Clock', 'Die, margin', 'Limiter'])
    const cool = settled(predictions, 'render', 18, 40)
    const warm = settled(predictions, 'render', 24, 55)
    for (const [row, one] of [
      [warmest, warm],
      [coolest, cool],
    ] as const) {
      expect(row?.[0]).toBe('render (12 cores)')
      expect(Math.abs(figure(row?.[1], 'GHz') * 1000 - (one.clockMhz ?? 0))).toBeLessThan(5)
      expect(Math.abs(figure(row?.[2], '°C') - (one.dieC ?? 0))).toBeLessThan(0.05001)
      expect(figure(row?.[2], 'W')).toBeCloseTo(one.marginW ?? Number.NaN, 0)
      expect(row?.[3]).toContain(one.limiter)
    }
  })

  it('leads with the slowest clock of all corners, its limiter, and the least margin', async () => {
    const { answer, predictions } = await hoverIn(at('7 to 12 cores  50x'))
    const [title, slowest, ...others] = answer.split('\n\n')
    expect(title).toContain('**7 to 12 cores at 50x**')
    const all = predictions.filter(one => one.load.name === 'render').map(one => one.settled)
    const clock = Math.min(...all.map(one => one.clockMhz ?? Number.NaN))
    expect(Math.abs(figure(slowest?.replaceAll('*', ''), 'GHz') * 1000 - clock)).toBeLessThan(5)
    expect(slowest).toContain(all.find(one => one.clockMhz === clock)?.limiter)
    const margin = Math.min(...all.map(one => one.marginW ?? Number.NaN))
    const shown = /[Ll]east margin \*\*([\d.]+) W\*\*/.exec([slowest, ...others].join('\n'))?.[1]
    expect(Number(shown)).toBeCloseTo(margin, 0)
  })

  it('says first that a clock is not to be counted on where the voltage is short', async () => {
    const short =
      bench + profile.replace('core needs + 10 mV', 'core needs - 40 mV').replace('    set 57x 1.455 V\n', '')
    const { answer } = await hoverIn(at('7 to 12 cores  50x', short))
    expect(answer.split('\n\n')[2]).toMatch(/^Do not count on that clock: .*less than it needs/)
    const ample =
      bench + profile.replace('core needs + 10 mV', 'core needs + 120 mV').replace('    set 57x 1.455 V\n', '')
    expect((await hoverIn(at('7 to 12 cores  50x', ample))).answer).not.toContain('Do not count')
  })

  it('says first that there is no steady temperature', async () => {
    const weak = bench.replace('100 % 0.045 K/W', '100 % 4.5 K/W').replace('20 %  0.090 K/W', '20 %  9.0 K/W')
    const base = weak + profile.replace('te-plate', 'big-loop').replace(/ {2}(?:drive|fan).*\n/g, '')
    const { answer, predictions } = await hoverIn(at('7 to 12 cores  50x', base))
    expect(predictions.filter(one => one.load.name === 'render').map(one => one.settled.state)).toContain('runaway')
    expect(answer.split('\n\n')[1]).toMatch(/^\*\*No steady temperature\*\*, thermal runaway: render/)
    expect(rows(answer)[1]?.slice(-2)).toEqual(['no steady temperature', 'thermal runaway'])
  })

  it('shows the room’s other corners too, or says that they come to the same', async () => {
    const { rest, predictions } = await hoverIn(at('1 to 2 cores   57x'))
    const [humid, pairHumid, dry, pairDry] = rows(rest)
    expect(rest).toContain("The room's other corners:")
    expect([humid?.[0], dry?.[0]]).toEqual(['18 °C, 55 %', '24 °C, 40 %'])
    for (const [row, air, humidity] of [
      [pairHumid, 18, 55],
      [pairDry, 24, 40],
    ] as const) {
      expect(Math.abs(figure(row?.[2], '°C') - (settled(predictions, 'pair', air, humidity).dieC ?? 0))).toBeLessThan(
        0.0501,
      )
    }
    // Moisture changes nothing where no plate is driven by it.
    const loop = bench + profile.replace('te-plate', 'big-loop').replace(/ {2}drive.*\n/, '')
    const same = await hoverIn(at('1 to 2 cores   57x', loop))
    expect(rows(same.text)).toHaveLength(4)
    expect(same.text).toContain("The room's other corners, 18 °C, 55 % and 24 °C, 40 %, give the same.")
    const small = await hoverIn(at('1 to 2 cores   57x', loop.replace('humidity 40 % to 55 %', 'humidity 40 %')))
    expect(small.text).not.toContain('other corners')
  })

  it('says how the clock falls band by band', async () => {
    const { text } = await hoverIn(at('1 to 2 cores   57x'))
    const falls = text.split('\n').filter(line => line.startsWith('- '))
    expect(falls).toEqual([
      '- below 38 °C: 5.70 GHz (57x)',
      '- from 38 °C: 5.60 GHz (56x)',
      '- from 55 °C: 5.50 GHz (55x)',
      '- at 95 °C, the die limit: 1x less at a time',
    ])
  })

  it('gives core counts with other bands a way down of their own', async () => {
    const base = bench + profile.replace('3 to 12 cores  above', '8 to 12 cores  above')
    const { text } = await hoverIn(at('7 to 12 cores  50x', base))
    expect(text).toContain('How the clock falls as the die warms, 7 cores:')
    expect(text).toContain('How the clock falls as the die warms, 8 to 12 cores:')
  })

  it('has no row for idle, and says so where no load has its cores', async () => {
    const { text } = await hoverIn(at('3 to 6 cores   54x'))
    expect(rows(text)).toEqual([])
    expect(text).toContain('No declared load keeps 3 to 6 cores busy')
  })

  it('leaves counts that an earlier row covers to that row', async () => {
    const base =
      bench +
      profile.replace('1 to 2 cores   57x', '1 to 4 cores   57x').replace('3 to 6 cores   54x', '2 to 6 cores   54x')
    const { text } = await hoverIn(at('2 to 6 cores   54x', base))
    expect(rows(text)).toEqual([])
  })

  it('shows the lowest and the highest count of a load over a range', async () => {
    const { text } = await hoverIn(at('7 to 12 cores  50x', `${bench}load sweep { cores 1 to 12 }\n${profile}`))
    const loads = rows(text).map(row => row[0])
    expect(loads.slice(0, 4)).toEqual(['24 °C, 55 %', 'render (12 cores)', 'sweep (7 cores)', 'sweep (12 cores)'])
    expect(text).toContain('Only the fewest and the most cores are shown of sweep on 7 to 12 cores.')
    expect(text).not.toContain('Of render')
  })

  it('says what is missing instead of guessing', async () => {
    const { text } = await hoverIn(at('57x\n    3', bench.replace('  reference 100 MHz\n', '') + profile))
    expect(rows(text)).toEqual([])
    expect(text).toContain('Nothing is predicted: part `sample-b7` has no `reference`')
  })
})

describe('a row of bands', () => {
  it('says what becomes of each step it covers', async () => {
    const { text } = await hoverIn(at('3 to 12 cores  above'))
    expect(text).toContain('54x becomes 52x: 5.40 GHz to 5.20 GHz; 50x becomes 48x: 5.00 GHz to 4.80 GHz.')
    expect(rows(text)[1]?.[0]).toBe('render (12 cores)')
  })
})
