import { describe, expect, it } from 'vitest'
import { loadFixture, uriOf } from '../harness/fixture.ts'
import { partText } from '../harness/make-text.ts'

/** Hovers on rows of `known`: what the model makes of the point, beside what was seen. */

const known = (...rows: string[]): string => `known {\n${rows.map(row => `    ${row}\n`).join('')}  }`
const bench = (rows: string, change: Parameters<typeof partText>[1] = {}, cooler = 'loop'): string => `--- a.detent
detent 1
${partText('willow', { switching: '2.0 nF ± 5 %', ...change }, [rows])}
cooler pond kind ${cooler} {
  block-resistance 0.05 K/W
  radiator { 25 % 0.12 K/W; 100 % 0.06 K/W }
  plate-heat 150 J/K
  coolant-heat 3000 J/K
}
room den { air 22 °C; humidity 45 % }
load full { cores 4 }
profile daily {
  part willow
  cooler pond
  room den
  steps { 1 to 4 cores 46x }
}
`

async function hover(text: string, piece: string): Promise<string> {
  const { service } = await loadFixture(text)
  const own = text.slice(text.indexOf('\n') + 1)
  const offset = own.indexOf(piece)
  expect(offset).toBeGreaterThan(0)
  return (service.features.hover(uriOf('a.detent'), offset + 1)?.text ?? '').replaceAll('\u00a0', ' ')
}

/** The cells of the row of the table that begins so. */
function cells(text: string, name: string): readonly string[] {
  const line = text.split('\n').find(one => one.startsWith(`| ${name} `)) ?? ''
  return line
    .split('|')
    .slice(2, -1)
    .map(cell => cell.trim())
}

const first = (cell: string | undefined): number => Number.parseFloat(cell ?? '')

describe('the hover of a point', () => {
  it('has the power that the law gives at what was seen beside it', async () => {
    const text = await hover(bench(known('4.60 GHz  1.15 V  60 W  64 °C  air 22 °C')), '60 W')
    // Cores · C · V² · f, leakage of 8 W at 1.10 V and 60 °C with exponent 3 and 28 K, and 8 W shared.
    const leakage = 8 * (1.15 / 1.1) ** 3 * 2 ** (4 / 28)
    const power = 4 * 2 * 1.15 ** 2 * 4.6 + leakage + 8
    const [seen, predicted, off, from] = cells(text, 'power')
    expect(seen).toBe('60.0 W ± 1.2 W')
    expect(first(predicted)).toBeCloseTo(power, 1)
    expect(off).toMatch(/below$/)
    expect(from).toBe('clock, voltage and die')
  })

  it('has the die at the power that was seen, from the nearest end that was', async () => {
    const dieAt = async (end: string): Promise<readonly string[]> =>
      cells(await hover(bench(known(`4.60 GHz  1.15 V  60 W  64 °C  ${end}`)), '60 W'), 'die')
    const leakage = 8 * (1.15 / 1.1) ** 3 * 2 ** (4 / 28)
    // What is left of the power for the cores, each a quarter of it, through 0.4 K/W.
    const own = (60 - leakage - 8) * (0.4 / 4)
    const [plate, coolant, air, slow] = [
      await dieAt('plate 50 °C  air 22 °C'),
      await dieAt('coolant 30 °C  air 22 °C'),
      await dieAt('air 22 °C'),
      await dieAt('air 22 °C  fan 25 %'),
    ]
    expect(first(plate[1])).toBeCloseTo(50 + 60 * 0.1 + own, 1)
    expect(first(coolant[1])).toBeCloseTo(30 + 60 * (0.1 + 0.05) + own, 1)
    expect(first(air[1])).toBeCloseTo(22 + 60 * (0.1 + 0.05 + 0.06) + own, 1)
    expect(first(slow[1])).toBeCloseTo(22 + 60 * (0.1 + 0.05 + 0.12) + own, 1)
    expect([plate[3], coolant[3], air[3]]).toEqual(['power and plate', 'power and coolant', 'power and air'])
  })

  it('counts the difference in joint uncertainties, of the readings and of the constants', async () => {
    const stated = '4.60 GHz ± 0.001 %  1.15 V ± 0.001 %  60 W ± 1 %  64 °C ± 0.001 K'
    const off = async (change: Parameters<typeof partText>[1]): Promise<number> =>
      first(cells(await hover(bench(known(stated), change), '60 W'), 'power')[2])
    const leakage = 8 * (1.15 / 1.1) ** 3 * 2 ** (4 / 28)
    const cores = 4 * 2 * 1.15 ** 2 * 4.6
    const apart = Math.abs(Math.log(60 / (cores + leakage + 8)))
    expect(await off({ switching: '2.0 nF' })).toBeCloseTo(apart / 0.01, 0)
    const both = Math.hypot(0.01, (0.05 * cores) / (cores + leakage + 8))
    expect(await off({ switching: '2.0 nF ± 5 %' })).toBeCloseTo(apart / both, 1)
  })

  it('says first whether the model agrees', async () => {
    expect(await hover(bench(known('4.60 GHz  1.15 V  67 W  64 °C')), '67 W')).toContain('the model agrees with it')
    expect(await hover(bench(known('4.60 GHz  1.15 V  110 W  64 °C')), '110 W')).toMatch(
      /\*\*the model does not agree\*\*: power seen is more than predicted, by [\d.]+ joint uncertainties/,
    )
  })

  it('sets the voltage against `needs`, or says that it stands for them', async () => {
    const row = known('4.00 GHz  1.10 V  60 W  60 °C')
    // Straight between 0.93 V at 30x and 1.24 V at 50x.
    expect(await hover(bench(row), '60 W')).toContain('`needs` asks for 1.085 V there; it held 15 mV more.')
    expect(await hover(bench(row, { needs: undefined }), '60 W')).toContain(
      'It held 1.100 V at 40x: with no `needs` here, that is what the ratio is taken to need.',
    )
  })

  it('predicts no die through modules, and nothing of a voltage alone', async () => {
    const plate = bench(known('4.60 GHz  1.15 V  60 W  64 °C  coolant 30 °C'), {}, 'thermoelectric').replace(
      '  plate-heat',
      '  modules 2\n  module { seebeck 53 mV/K; resistance 0.80 Ω; conductance 1.4 W/K }\n  drive-current 5 A\n  plate-heat',
    )
    const text = await hover(plate, '60 W')
    expect(cells(text, 'die')).toEqual([])
    expect(cells(text, 'power')).toHaveLength(4)
    expect(await hover(bench(known('4.60 GHz  1.15 V')), '1.15 V')).toContain(
      'a voltage that held, and nothing to compare',
    )
  })
})

describe('the hover of a part', () => {
  it('lists what is left out, what it counts as and what that is worth', async () => {
    const text = await hover(
      bench('', { switching: undefined, leakage: undefined, 'core-resistance': undefined }),
      'willow',
    )
    expect(cells(text, '`switching`')).toEqual(['2.0 nF', '1.4'])
    expect(cells(text, '`leakage`')).toEqual(['6 W at 1.20 V 60 °C', '1.8'])
    expect(cells(text, '`core-resistance`')).toEqual(['0.5 K/W', '1.5'])
    expect(cells(text, '`idle-power`')).toEqual([])
    expect(text).not.toMatch(/Assumed:.*switching/)
  })

  it('says on a row of steps how far that leaves the answer open', async () => {
    const open = await hover(bench('', { switching: undefined }), '46x')
    expect(open).toMatch(
      /With usual values for the constants that are left out: clock .* GHz, die [\d.]+ °C to [\d.]+ °C \(95 % interval\)/,
    )
    const stated = bench('', { 'die-heat': '12 J/K' })
    expect(await hover(stated, '46x')).not.toContain('left out')
  })
})
