import { describe, expect, it } from 'vitest'
import { fixed } from '../harness/check.ts'
import { demo, edited, findingsOf, placesOf } from './demo.ts'

const code = 'thermal-runaway'

describe('thermal-runaway', () => {
  it('stands at the step row and names load, corner and a step that would hold', async () => {
    const [found] = await findingsOf(code, demo(code))
    expect(found?.under).toBe('1 to 8 cores 50x')
    expect(found?.finding.message).toMatch(/`burn` on 8 active cores at 24 °C air.*A step of \d+x would hold/)
    expect(found?.finding.load).toBe('burn')
  })

  it('lets the same part pass on a cooler with less resistance', async () => {
    expect(await placesOf(code, edited(demo(code), ['0.66 K/W', '0.05 K/W']))).toEqual([])
  })

  it('is fixed by that step, at a safe distance', async () => {
    expect(await fixed(code, demo(code))).toMatch(/1 to 8 cores +1\dx/)
  })

  it('offers no step where none holds', async () => {
    const [found] = await findingsOf(code, edited(demo(code), ['0.66 K/W', '3 K/W']))
    expect(found?.finding.fixes).toEqual([])
  })

  it('tells a plate that has no sound solution from leakage', async () => {
    const plate = demo('drive-excess')
    const current = /drive-current [^\n#]*/.exec(plate)?.[0] ?? ''
    const radiator = /100 % ([\d.]+) K\/W/.exec(plate)?.[0] ?? ''
    const driven = edited(plate, [current, 'drive-current 60 A '], [radiator, '100 % 0.9 K/W'])
    const found = await findingsOf(code, driven)
    expect(found.length).toBeGreaterThan(0)
    for (const { finding } of found) expect(finding.message).toContain('Lower the drive current')
    expect(await placesOf(code, plate)).toEqual([])
  })
})
