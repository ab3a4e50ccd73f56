import { describe, expect, it } from 'vitest'
import { railed, soundSteps, twoGroups } from '../harness/two-groups.ts'
import { demo, edited, placesOf } from './demo.ts'

const code = 'limit-idle'
const on = { [code]: 'hint' } as const

describe('limit-idle', () => {
  it('is off unless it is asked for', async () => {
    expect(await placesOf(code, demo(code))).toEqual([])
    expect(await placesOf(code, demo(code), on)).toEqual(['current 400 A'])
  })

  it('lets a limit pass that acts anywhere', async () => {
    expect(await placesOf(code, edited(demo(code), ['400 A', '80 A']), on)).toEqual([])
  })

  it('looks at each limit for itself', async () => {
    const text = edited(demo(code), ['current 400 A', 'die 95 °C\n    current 80 A\n    sustained-power 300 W'])
    expect(await placesOf(code, text, on)).toEqual(['die 95 °C', 'sustained-power 300 W'])
  })

  it('looks at the current of each supply rail for itself', async () => {
    const limited = (limits: string): string => railed(twoGroups(`${soundSteps}\n  limits { ${limits} }`))
    expect(await placesOf(code, limited('current 300 A; current second 16 A'), on)).toEqual(['current 300 A'])
    expect(await placesOf(code, limited('current 40 A; current second 300 A'), on)).toEqual(['current second 300 A'])
    // One line for both rails acts where either of them does.
    expect(await placesOf(code, limited('current 40 A'), on)).toEqual([])
    expect(await placesOf(code, limited('current 300 A; current second 290 A'), on)).toEqual([
      'current 300 A',
      'current second 290 A',
    ])
    // A line for all rails that none takes limits nothing, which is said elsewhere.
    const untaken = 'current 400 A; current main 40 A; current second 16 A'
    expect(await placesOf(code, limited(untaken), on)).toEqual([])
    expect(await placesOf(code, limited(untaken.replace('40 A', '300 A').replace('16 A', '290 A')), on)).toEqual([
      'current main 300 A',
      'current second 290 A',
    ])
    expect(await placesOf('key-unused-here', limited(untaken))).toEqual(['current 400 A'])
  })
})
