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
