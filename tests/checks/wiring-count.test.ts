import { describe, expect, it } from 'vitest'
import { fixed } from '../harness/check.ts'
import { demo, edited, findingsOf, messageOf, placesOf } from './demo.ts'

const code = 'wiring-count'

describe('wiring-count', () => {
  it('counts both', async () => {
    expect(await placesOf(code, demo(code))).toEqual(['wiring 2 by 2'])
    expect(await messageOf(code, demo(code))).toContain('`wiring 2 by 2` is 4 modules, and the cooler has 3.')
  })

  it.each(['3 by 1', '1 by 3'])('lets wiring %s of three modules pass', async wiring => {
    expect(await placesOf(code, edited(demo(code), ['wiring 2 by 2', `wiring ${wiring}`]))).toEqual([])
  })

  it('says nothing where the number of modules is not known', async () => {
    expect(await placesOf(code, edited(demo(code), ['  modules 3\n', '']))).toEqual([])
  })

  it('keeps the modules in series where they fit, and offers all in series as well', async () => {
    const six = edited(demo(code), ['modules 3', 'modules 6'], ['supply 24 V', 'supply 12 V'])
    const [found] = await findingsOf(code, six)
    expect(found?.finding.fixes?.map(({ title }) => title)).toEqual(['Write `wiring 2 by 3`', 'Write `wiring 6 by 1`'])
    expect(await fixed(code, six)).toContain('wiring 2 by 3')
  })

  it('predicts nothing until both agree', async () => {
    const expecting = edited(demo(code), ['  drive supply 24 V', '  drive supply 24 V\n  expect idle plate <= -90 °C'])
    expect(await placesOf('expect-failed', expecting)).toEqual([])
    expect(await placesOf('expect-failed', edited(expecting, ['2 by 2', '3 by 1']))).toHaveLength(1)
  })
})
