import { describe, expect, it } from 'vitest'
import { fixed } from '../harness/check.ts'
import { demo, edited, findingsOf, placesOf } from './demo.ts'

const code = 'off-condensation'

describe('off-condensation', () => {
  it('names the machine that is off', async () => {
    const [found] = await findingsOf(code, demo(code))
    expect(found?.under).toBe('drive full')
    expect(found?.finding.load).toBe('off')
    expect(found?.finding.message).toMatch(/^Plate .*: `off` at/)
  })

  it('lets a plate pass that is off with the machine, or not driven at all', async () => {
    expect(await placesOf(code, edited(demo(code), ['drive-when-off yes', 'drive-when-off no']))).toEqual([])
    expect(await placesOf(code, edited(demo(code), ['drive full', 'drive off']))).toEqual([])
  })

  it('is a hint behind insulation', async () => {
    const text = edited(demo(code), ['  modules 3', '  insulated yes\n  modules 3'])
    expect((await findingsOf(code, text)).map(({ finding }) => finding.severity)).toEqual(['hint'])
  })

  it('is fixed at the drive or at the cooler', async () => {
    // Three modules at 2.6 A do not reach the dew point under load, which is reported for what it is.
    expect(await fixed(code, demo(code), { brings: ['drive-short'] })).toContain('drive dew + 3 K')
    const off = await fixed(code, demo(code), { title: 'Write `drive-when-off no`' })
    expect(off).toContain('drive-when-off no')
  })
})
