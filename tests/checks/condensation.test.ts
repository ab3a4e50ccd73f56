import { describe, expect, it } from 'vitest'
import { fixed } from '../harness/check.ts'
import { demo, edited, findingsOf, messageOf, placesOf } from './demo.ts'

const code = 'condensation'
const chilled = edited(
  demo('voltage-range'),
  ['    set 50x 1.480 V\n', ''],
  [
    'cooler plain-loop kind loop {\n  block-resistance 0.05 K/W\n  radiator {\n    20 %  0.090 K/W\n    100 % 0.045 K/W\n  }\n}',
    'cooler plain-loop kind chilled {\n  coolant 8 °C\n  capacity 350 W\n  beyond 0.08 K/W\n  block-resistance 0.05 K/W\n}',
  ],
)

describe('condensation', () => {
  it('names surface, dew point and the corner it belongs to', async () => {
    const [found] = await findingsOf(code, demo(code))
    expect(found?.under).toBe('drive hold 8 °C')
    // The dew point of 24 °C and 55 % is 14.40 °C (Magnus form; a printed table has 15.4 °C for 25 °C and 55 %).
    expect(found?.finding.message).toContain(
      'Plate 6.4 K below the dew point of 14.4 °C: `idle` at 24 °C air and 55 % humidity, at 8.0 °C',
    )
    expect(found?.finding.severity).toBe('error')
    expect(found?.finding.room).toBe('shed')
  })

  it('lets a plate above the dew point of every corner pass', async () => {
    expect(await placesOf(code, edited(demo(code), ['hold 8 °C', 'hold 15 °C']))).toEqual([])
    expect(await placesOf(code, edited(demo(code), ['hold 8 °C', 'hold 14 °C']))).toHaveLength(1)
  })

  it('holds a margin that is reached to the microkelvin for reached', async () => {
    expect(await placesOf(code, edited(demo(code), ['hold 8 °C', 'dew + 3 K']))).toEqual([])
  })

  it('warns within the margin asked for', async () => {
    // Saturated air: the plate without heat can be no warmer than the air by what idle gives it.
    const text = edited(demo(code), ['hold 8 °C', 'dew + 3 K'], ['40 % to 55 %', '100 %'])
    const [found] = await findingsOf(code, text)
    expect(found?.finding.severity).toBe('warning')
    expect(found?.finding.message).toContain('less than `dew + 3 K` asks for')
  })

  it('warns of a plate just at the dew point', async () => {
    const [found] = await findingsOf(code, edited(demo(code), ['hold 8 °C', 'dew + 0 K']))
    expect(found?.finding.severity).toBe('warning')
    expect(found?.finding.message).toMatch(/^Plate just at the dew point: .*a damp day/)
    expect(await fixed(code, edited(demo(code), ['hold 8 °C', 'dew + 0 K']))).toContain('drive dew + 3 K')
    expect(await placesOf(code, edited(demo(code), ['hold 8 °C', 'dew + 0.1 K']))).toEqual([])
  })

  it('names idle where every load keeps the plate at the same temperature', async () => {
    const [found] = await findingsOf(code, demo(code))
    expect(found?.finding.load).toBe('idle')
    expect(found?.finding.message).toMatch(/: `idle` at/)
  })

  it('is a hint behind insulation', async () => {
    const text = edited(demo(code), ['  modules 3', '  insulated yes\n  modules 3'])
    expect((await findingsOf(code, text)).map(({ finding }) => finding.severity)).toEqual(['hint'])
  })

  it('looks at the coolant of a chilled cooler, which is colder than its plate', async () => {
    expect(await messageOf(code, chilled)).toContain('Coolant 6.4 K below the dew point')
    expect(await placesOf(code, edited(chilled, ['coolant 8 °C', 'coolant 14.5 °C']))).toEqual([])
    // 14.40 °C + 3 K, in half kelvins.
    expect(await fixed(code, chilled)).toContain('coolant 17.5 °C')
  })

  it('leaves a corner with ice to `frost`', async () => {
    expect(await placesOf(code, demo('frost'))).toEqual([])
  })

  it('is fixed by a drive to the dew point', async () => {
    expect(await fixed(code, demo(code))).toContain('drive dew + 3 K')
  })
})

describe('condensation under a supply with knobs', () => {
  // 24 °C and 55 %: dew point 14.40 °C, and 3 K more is the trade's margin.
  const driven = (drive: string): string => edited(demo(code), ['hold 8 °C', drive])

  it.each(['supply 6 V', 'fixed 1.6 A', 'pulsed 25 %'])(
    'names `drive %s` and the current it gives at idle',
    async drive => {
      expect(await messageOf(code, driven(drive))).toMatch(
        new RegExp(`\`drive ${drive}\` cools it that far, with \\d+\\.\\d+ A( in pulses)? through each module\\.`),
      )
    },
  )

  it.each([
    ['supply 6 V', /drive supply \d+(\.\d)? V/],
    ['fixed 1.6 A', /drive fixed \d+(\.\d)? A/],
    ['pulsed 25 %', /drive pulsed \d+ %/],
  ])('finds the setting below `drive %s` that keeps the plate dry in every corner', async (drive, line) => {
    const text = await fixed(code, driven(drive))
    expect(text).toMatch(line)
    expect(await placesOf(code, text)).toEqual([])
    expect(await placesOf('frost', text)).toEqual([])
  })

  it('offers the drive to the dew point as well', async () => {
    const [found] = await findingsOf(code, driven('supply 6 V'))
    expect(found?.finding.fixes?.at(-1)?.title).toBe('Write `drive dew + 3 K`')
  })
})
