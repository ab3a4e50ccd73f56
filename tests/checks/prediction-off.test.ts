import { describe, expect, it } from 'vitest'
import { loadFixture, uriOf } from '../harness/fixture.ts'
import { demo, edited, findingsOf, placesOf } from './demo.ts'

const code = 'prediction-off'

describe('prediction-off', () => {
  it('stands at the name of the run and gives the figures', async () => {
    expect(await placesOf(code, demo(code))).toEqual(['by-hand'])
    const [found] = await findingsOf(code, demo(code))
    expect(found?.finding.message).toMatch(/power 240(\.\d+)? W where [\d.]+ W is predicted/)
    expect(found?.finding.message).toContain('If its profile has changed since, name the `revision` it had.')
    expect(found?.finding).toMatchObject({ load: 'weave', profile: 'daily' })
  })

  it('lets a run pass that meets the prediction', async () => {
    const { service } = await loadFixture(demo(code))
    const evaluation = service.evaluations(uriOf('a.detent'))[0]
    const settled = evaluation?.predictions.find(one => one.load.name === 'weave')?.settled
    const figures = `power ${settled?.powerW?.toFixed(1)} W; die ${settled?.dieC?.toFixed(1)} °C`
    expect(await placesOf(code, edited(demo(code), ['power 240 W; die 91 °C', figures]))).toEqual([])
    // Half the combined uncertainty of an instrument beside it is still chance.
    const near = `power ${((settled?.powerW ?? 0) * 1.02).toFixed(1)} W`
    expect(await placesOf(code, edited(demo(code), ['power 240 W; die 91 °C', near]))).toEqual([])
  })

  it('leaves out a trial with another clock or voltage, which says how it ended', async () => {
    const other = 'power 240 W; clock 3.0 GHz; voltage 0.900 V'
    const run = edited(demo(code), ['power 240 W; die 91 °C', other])
    expect(await placesOf(code, run)).toEqual(['by-hand'])
    expect(await placesOf(code, run.replace(/measured \{[^}]*\}/, '$&\n  held 1 h'))).toEqual([])
    expect(await placesOf(code, edited(demo(code), ['die 91 °C }', 'die 91 °C }\n  held 1 h']))).toEqual(['by-hand'])
  })

  it('is said in the hover of the run too', async () => {
    const text = demo(code)
    const { service } = await loadFixture(text)
    const hover = service.features.hover(uriOf('a.detent'), text.indexOf('by-hand'))?.text
    expect(hover).toMatch(/\| power +\| 240\.0 W +\|/)
    expect(hover).toContain('(off)')
  })
})
