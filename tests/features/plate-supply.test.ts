import { describe, expect, it } from 'vitest'
import type { SheetFact } from '../../server/features/sheet/types.ts'
import { sheetFor } from '../../server/service.ts'
import { loadFixture, uriOf } from '../harness/fixture.ts'
import { partText } from '../harness/make-text.ts'

/** What sheet and hover say of the supply of a plate. */

const uri = uriOf('a.detent')

const bench = (drive: string, supply = ''): string => `--- a.detent
detent 1
${partText('willow-4')}cooler plate kind thermoelectric {
  modules 4
  module { seebeck 50 mV/K; resistance 1.5 Ω; conductance 0.6 W/K }
  drive-current 4 A
  wiring 2 by 2
  leads 20 mΩ
${supply}
  block-resistance 0.03 K/W
  radiator { 100 % 0.05 K/W }
}
room loft { air 22 °C; humidity 40 % }
load weave { cores 4; uneven 1.5 }
profile daily {
  part willow-4
  cooler plate
  room loft
  steps { 1 to 4 cores 46x }
  voltage { core needs + 20 mV }
  drive ${drive}
}
`

async function facts(drive: string, supply?: string): Promise<readonly SheetFact[]> {
  const { service } = await loadFixture(bench(drive, supply))
  return sheetFor(service.workspace, uri, 'daily')?.facts ?? []
}

const textOf = (all: readonly SheetFact[], name: string): string | undefined =>
  all.find(fact => fact.name === name)?.text

describe('the sheet of a plate with a supply that only has knobs', () => {
  it('says volts and the current limit for a supply that keeps its voltage', async () => {
    expect(textOf(await facts('supply 12 V'), 'supply of the plate')).toMatch(
      /^set 12 V, current limit 8 A; it then gives \d\.\d\d A to \d\.\d\d A$/,
    )
    // The lower of the modules' limits in two strings and the supply's own.
    expect(textOf(await facts('supply 12 V', '  supply-limit 6 A'), 'supply of the plate')).toContain(
      'current limit 6 A',
    )
  })

  it('says amperes in all, and how far the voltage goes, for a fixed current', async () => {
    const text = textOf(await facts('fixed 2.5 A'), 'supply of the plate')
    // Two strings of 2.5 A; 5 A · 20 mΩ in the leads, and 2 · 2.5 A · 1.5 Ω with 2 · α · difference in the modules.
    expect(text).toMatch(/^set 5\.00 A; it takes \d\d?\.\d+ V to \d\d?\.\d+ V, so let the voltage go that high$/)
    const [low = 0, high = 0] = [...(text ?? '').matchAll(/([\d.]+) V/g)].map(([, volts]) => Number(volts))
    const ohmic = 5 * 0.02 + 2 * 2.5 * 1.5
    expect(low).toBeGreaterThan(ohmic)
    expect(high).toBeLessThan(ohmic + 2 * 0.05 * 60)
  })

  it('says the height of pulses and their share of the time', async () => {
    expect(textOf(await facts('pulsed 30 %'), 'supply of the plate')).toMatch(
      /^set 8\.00 A in pulses for 30 % of the time; it takes/,
    )
  })

  it('gives what idle takes as the most that knobs may be set to where a target is followed', async () => {
    const all = await facts('dew + 2 K')
    expect(textOf(all, 'supply of the plate')).toMatch(/^follows its target: \d\.\d+ A to \d\.\d+ A, /)
    const knobs = textOf(all, 'with knobs alone')
    expect(knobs).toMatch(
      /^set no more than \d\.\d\d? A \(about \d\.\d\d? V\), what idle at 22 °C, 40 % takes: more would cool/,
    )
    const most = Number(/than ([\d.]+) A/.exec(knobs ?? '')?.[1])
    const [low = 0] = [...(textOf(all, 'supply of the plate') ?? '').matchAll(/([\d.]+) A/g)].map(([, amperes]) =>
      Number(amperes),
    )
    expect(most).toBeLessThanOrEqual(low)
    expect(most).toBeGreaterThan(low - 0.011)
  })

  it('says off where nothing flows, and nothing for a cooler without a plate', async () => {
    expect(textOf(await facts('off'), 'supply of the plate')).toBe('off')
  })
})

describe('the hover', () => {
  async function hoverAt(text: string, at: string): Promise<string> {
    const { service } = await loadFixture(text)
    const source = service.workspace.document(uri)?.source.text ?? ''
    return service.features.hover(uri, source.indexOf(at) + 1)?.text ?? ''
  }

  it.each([
    [
      'wiring',
      '2 strings of 2 in series: the supply gives 2 times the current of a module, up to 8.00 A, at 2 times its voltage.',
    ],
    ['leads', 'At 8.00 A in all they take 0.160 V and 1.28 W.'],
    ['supply-limit', '3.00 A for each string: it stops the current before `drive-current` does.'],
    ['plate-leak', 'A plate 10 K below the air takes up 4.00 W'],
  ])('of `%s` says what it comes to', async (word, said) => {
    const text = bench('supply 12 V', '  supply-limit 6 A\n  plate-leak 0.4 W/K')
    expect(await hoverAt(text, `  ${word} `.trimStart())).toContain(said)
  })

  it('of pulses says what they cost against smooth current of the same mean', async () => {
    expect(await hoverAt(bench('pulsed 30 %'), 'drive pulsed')).toMatch(
      /up to \d+\.\d K warmer than with 1\.20 A of smooth current \((weave|idle).*\)/,
    )
    expect(await hoverAt(bench('fixed 2 A'), 'drive fixed')).not.toContain('smooth')
  })

  it('of a supply says where a limit stops it', async () => {
    expect(await hoverAt(bench('supply 40 V'), 'drive supply')).toContain(
      '`drive-current` stops the current before that',
    )
    expect(await hoverAt(bench('supply 6 V'), 'drive supply')).not.toContain('stops the current')
  })

  it('of a module says at which temperature its constants hold', async () => {
    expect(await hoverAt(bench('full'), 'module {')).toContain('They count as the same at every temperature.')
    const at = bench('full').replace('conductance 0.6 W/K', 'conductance 0.6 W/K; constants-at 20 °C')
    expect(await hoverAt(at, 'module {')).toContain('They hold at a mean of hot and cold side of 20.0 °C')
  })

  it('of a load says how uneven it is', async () => {
    expect(await hoverAt(bench('full'), 'weave {')).toContain('its hottest core at 1.5 times the mean')
  })
})
