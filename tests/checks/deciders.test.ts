import { describe, expect, it } from 'vitest'
import { demo, edited, messageOf, placesOf } from './demo.ts'

/** What decides a finding is said where it does, and the finding is gone without it. The load's unevenness: over-limit. */

const plate = (drive: string, supply: string): string =>
  edited(demo('frost'), ['drive full', `drive ${drive}`], ['drive-current 7 A', `drive-current 7 A\n  ${supply}`])

describe('a finding says what decides it:', () => {
  it('the leak of the plate', async () => {
    const leaky = plate('hold 12 °C', 'plate-leak 2 W/K')
    expect(await messageOf('drive-short', leaky)).toContain(
      ' `plate-leak 2 W/K` decides: without that heat from the air it would hold.',
    )
    expect(await placesOf('drive-short', plate('hold 12 °C', 'plate-leak 0 W/K'))).toEqual([])
  })

  it('the limit of the supply', async () => {
    const limited = plate('supply 24 V', 'supply-limit 1.5 A')
    expect(await messageOf('cooler-overload', limited)).toContain(
      ' `supply-limit 1.5 A` decides: from a stronger supply it would pump.',
    )
    expect(await placesOf('cooler-overload', plate('supply 24 V', 'supply-limit 15 A'))).toEqual([])
  })

  it('the temperature of the modules', async () => {
    // The datasheet's own mean is 35 °C - 70 K / 2; at idle these modules are warmer and pump more.
    const text = edited(demo('condensation'), ['hold 8 °C', 'fixed 1 A'])
    expect(await messageOf('condensation', text)).toContain(
      ' The temperature of the modules decides: with their constants as at 0 °C it would stay dry.',
    )
    const colder = edited(demo('condensation'), ['hold 8 °C', 'fixed 1.6 A'])
    expect(await messageOf('condensation', colder)).not.toContain('decides')
  })
})

/** Held back, drives and fans leave a part that leaks on the way to runaway, or past its limit. */
describe('what holds a cooler back:', () => {
  const hot = (drive: string, ofPlate = '', ofProfile = ''): string =>
    edited(
      demo('frost'),
      ['drive full', `drive ${drive}${ofProfile}\n  limits { die 45 °C }`],
      ['drive-current 7 A', `drive-current 7 A${ofPlate}`],
      ['ratio 8x to 60x', 'ratio 40x to 60x'],
    )

  it('a current set lower than the modules may have', async () => {
    expect(await messageOf('over-limit', hot('fixed 0.4 A'))).toContain(
      ' `drive fixed 0.4 A` decides: with `drive full` it would hold.',
    )
  })

  it('pulses', async () => {
    expect(await messageOf('over-limit', hot('pulsed 16 %'))).toContain(
      ' `drive pulsed 16 %` decides: under smooth current of the same mean it would hold.',
    )
  })

  it('the leads of a supply, and how the modules are wired to it', async () => {
    expect(await messageOf('over-limit', hot('supply 3 V', '\n  leads 2000 mΩ'))).toContain(
      ' `leads 2000 mΩ` decides: without the voltage they take it would hold.',
    )
    const wet = edited(
      demo('condensation'),
      ['hold 8 °C', 'supply 2 V'],
      ['drive-current 7 A', 'drive-current 7 A\n  wiring 1 by 3'],
    )
    expect(await messageOf('condensation', wet)).toContain(
      ' `wiring 1 by 3` decides: with all modules in one row it would stay dry.',
    )
  })

  it('the fan table', async () => {
    const slow = hot('full', '', '\n  fan { 20 °C 20 %; 60 °C 21 % }').replace('die 45 °C', 'die 35 °C')
    const message = await messageOf('over-limit', slow.replace('drive full', 'drive fixed 2 A'))
    expect(message).toContain(' The `fan` table decides: at 100 % it would hold.')
    expect(message).toContain(' Let `fan` reach that sooner.')
  })

  it('and none of them where it would not hold anyway', async () => {
    expect(await messageOf('over-limit', hot('pulsed 5 %'))).not.toContain('decides')
  })
})
