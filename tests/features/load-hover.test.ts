import { describe, expect, it } from 'vitest'
import { loadAtCursor } from '../harness/fixture.ts'
import { bench } from './bench.ts'

/** What a load's hover tells beyond the clock: electrical figures, margin, how long it lasts, what `±` makes of it. */

const profile = (cooler: string): string => `
profile daily {
  part sample-b7
  cooler ${cooler}
  room garage
  steps { 1 to 12 cores 54x }
}
`
const small = `
cooler small kind air {
  block-resistance 0.05 K/W
  radiator { 100 % 0.60 K/W }
}
`

async function hover(text: string) {
  const at = text.indexOf('load render') + 'load '.length
  const { service, cursor } = await loadAtCursor(`${text.slice(0, at)}$0${text.slice(at)}`)
  const shown = (): string => service.features.hover(cursor.uri, cursor.offset)?.text ?? ''
  const predictions = service.evaluations(cursor.uri).flatMap(one => one.predictions)
  return { shown, runs: service.runs, predictions: predictions.filter(one => one.load.name === 'render') }
}

describe('a load', () => {
  it('shows volts, amperes, watts, plate and margin of the warmest corner as predicted', async () => {
    const { shown, predictions } = await hover(bench + profile('te-plate'))
    const settled = predictions.at(-1)?.settled
    const row = shown()
      .split('\n')
      .find(line => line.startsWith('| daily') && line.includes(' A, '))
    expect(row).toContain(`${settled?.voltageV?.toFixed(3)} V`)
    for (const figure of [settled?.currentA, settled?.powerW, settled?.marginW]) {
      const text = Number(figure?.toPrecision(3)).toString()
      expect(row).toContain(text)
    }
  })

  it('says what it leaves out: corners, counts, and rows that are not worked out', async () => {
    const text = bench.replace('load render {\n  cores 12\n', 'load render {\n  cores 1 to 12\n')
    expect(text).not.toBe(bench)
    const many = [1, 2, 3].map(count => profile('big-loop').replace('daily', `daily-${count}`)).join('')
    const { shown } = await hover(text + many)
    expect(shown()).toContain('Rooms have up to 2 more corners between these two.')
    expect(shown()).toContain('Only the fewest and the most cores are shown of render on 1 to 12 cores.')
    expect(shown()).toContain('Worked out for the first 3; 3 more follow in the same way.')
    expect((await hover(bench + profile('big-loop'))).shown()).not.toMatch(/Worked out for|fewest/)
  })

  it('tells how long it lasts where it finds no rest, once the run is made', async () => {
    const { shown, runs, predictions } = await hover(bench + small + profile('small'))
    expect(predictions.at(-1)?.settled.state).toBe('throttled')
    expect(shown()).toContain('how long it lasts is being worked out')
    expect(runs.pending()).toBeGreaterThan(0)
    runs.makeAll()
    expect(shown()).toMatch(
      /from an idle bench it gives ratio back after \d+ (?:s|min).*, reaches the die limit after \d+ (?:s|min)/,
    )
  })

  it('gives the intervals that `±` makes, and none without it', async () => {
    const plain = bench + profile('big-loop')
    expect((await hover(plain)).shown()).not.toContain('95 %')
    const spread = plain.replace(/switching ([\d.]+) nF.*/, 'switching $1 nF ± 3 %')
    expect(spread).not.toBe(plain)
    expect((await hover(spread)).shown()).toMatch(
      /95 % interval from the stated ±: clock .*, die [\d.]+ °C to [\d.]+ °C, margin [\d.]+ W to [\d.]+ W \(2000 seeded draws decide: a level of the ladder/,
    )
    // Between two levels, and never far from them: the clock moves along a straight line.
    const little = plain.replace(/switching ([\d.]+) nF.*/, 'switching $1 nF ± 0.01 %')
    expect((await hover(little)).shown()).toMatch(/margin 0 W \(first order\)/)
  })
})
