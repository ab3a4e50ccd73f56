import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { allWithIntervals, createService, type PredictionFigures } from '../../server/service.ts'
import { detent } from '../cli/helpers.ts'
import { memoryFiles } from '../harness/file-systems.ts'
import { temporaryFolder } from '../harness/process.ts'
import { root } from '../harness/sources.ts'

/** The first example begins with what was seen, not with constants: what it predicts must be right all the same. */

const first = readFileSync(join(root, 'grammar', 'examples', 'first.detent'), 'utf8')

/** The constants of the invented bench on which the points of the example were read. */
const truth = first
  .replace(/ {2}known \{[\s\S]*?\n {2}\}\n/, '')
  .replace(
    '  die-limit',
    `  needs { 40x 1.000 V; 44x 1.080 V; 48x 1.160 V; 52x 1.275 V }
  switching 2.3 nF
  leakage 12 W at 1.20 V 60 °C
  leakage-doubling 30 K
  shared-power 10 W
  idle-power 12 W
  package-resistance 0.10 K/W
  core-resistance 0.50 K/W
  die-limit`,
  )
  .replace('kind air { }', 'kind air { block-resistance 0.03 K/W; radiator { 30 % 0.24 K/W; 100 % 0.15 K/W } }')

/** @param beside the file that a fit has written beside it */
async function predicted(text: string, beside = ''): Promise<readonly PredictionFigures[]> {
  const uri = 'file:///first/first.detent'
  const service = createService(memoryFiles({ [uri]: text, 'file:///first/my-sample.fitted.detent': beside }))
  await service.workspace.load([uri])
  return service.evaluations(uri).flatMap(evaluation => allWithIntervals(evaluation))
}

describe('the first example', () => {
  it('knows nothing but points that were seen, and each figure of its bench lies within its 95 % interval', async () => {
    expect(first).not.toMatch(/switching|leakage|resistance|radiator|needs \{/)
    const [shown, real] = await Promise.all([predicted(first), predicted(truth)])
    expect(shown.length).toBe(6)
    for (const [index, { load, interval }] of shown.entries()) {
      const own = real[index] as PredictionFigures
      expect(own.load).toBe(load)
      for (const of of ['clock_mhz', 'power_w', 'die_c', 'plate_c', 'margin_w'] as const) {
        const [low, high] = interval?.[of] ?? [null, null]
        const value = own[of]
        if (value === null) continue
        expect(value, `${load} ${of}`).toBeGreaterThanOrEqual((low ?? Number.NEGATIVE_INFINITY) - 1e-9)
        expect(value, `${load} ${of}`).toBeLessThanOrEqual((high ?? Number.POSITIVE_INFINITY) + 1e-9)
      }
    }
  })

  it('knows its bench better once its points are fitted, and is still right', { timeout: 120_000 }, async () => {
    using folder = temporaryFolder({ 'first.detent': first })
    expect((await detent(folder.path, ['fit', '--write', 'first.detent'])).code).toBe(0)
    const [fitted = '', beside] = ['first.detent', 'my-sample.fitted.detent'].map(name =>
      readFileSync(join(folder.path, name), 'utf8'),
    )
    const [before, after, real] = await Promise.all([predicted(first), predicted(fitted, beside), predicted(truth)])
    expect(after.map(({ load }) => load)).toEqual(before.map(({ load }) => load))
    for (const [index, { load, interval }] of after.entries()) {
      for (const of of ['power_w', 'die_c'] as const) {
        const [low, high] = interval?.[of] ?? [Number.NaN, Number.NaN]
        const [widestLow, widestHigh] = before[index]?.interval?.[of] ?? [Number.NaN, Number.NaN]
        const value = real[index]?.[of] ?? Number.NaN
        expect(value, `${load} ${of}`).toBeGreaterThanOrEqual(low ?? Number.NaN)
        expect(value, `${load} ${of}`).toBeLessThanOrEqual(high ?? Number.NaN)
        // No point tells of idle.
        if (load === 'idle') continue
        const share = ((high ?? 0) - (low ?? 0)) / ((widestHigh ?? 0) - (widestLow ?? 0))
        expect(share, `${load} ${of}`).toBeLessThan(0.5)
      }
    }
  })

  it('has points that its bench would give, within three reading errors', async () => {
    const rows = [...first.matchAll(/^ {4}([\d.]+) GHz {2}([\d.]+) V {2}(\d+) W +(\d+) °C( +cores 2)?/gm)]
    expect(rows.length).toBe(4)
    for (const [, clock, volts, watts, celsius, two] of rows) {
      const ratio = Number(clock) * 10
      const text = truth
        .replace(/steps \{[\s\S]*?\n {2}\}/, `steps { 1 to 8 cores ${ratio}x }`)
        .replace(/bands \{[\s\S]*?\n {2}\}/, '')
        .replace('core needs + 15 mV', `core fixed ${volts} V`)
        .replace('20 °C to 27 °C', '22 °C')
      const own = (await predicted(text)).find(({ load }) => load === (two === undefined ? 'all-cores' : 'two-cores'))
      expect(Math.abs((own?.power_w ?? 0) / Number(watts) - 1), `${clock} W`).toBeLessThan(3 * 0.02)
      expect(Math.abs((own?.die_c ?? 0) - Number(celsius)), `${clock} °C`).toBeLessThan(3 * 1.5)
    }
  })
})
