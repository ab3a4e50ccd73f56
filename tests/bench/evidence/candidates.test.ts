import { describe, expect, it } from 'vitest'
import { candidatesOf } from '../../../server/bench/evidence/candidates.ts'
import { demo } from '../../checks/demo.ts'
import { loadFixture, uriOf } from '../../harness/fixture.ts'

/** What is looked at when the next trial is chosen: the ratios of the steps and one above, voltages about what each takes. */

const bench = demo('needs-contradicted')

async function candidates(text = bench, range?: { lowV: number; highV: number }) {
  const { service } = await loadFixture(text)
  const [evaluation] = service.evaluations(uriOf('a.detent'))
  if (evaluation === undefined) throw new Error('there is no profile')
  const evidence = service.bench.evidence(evaluation.profile.part)
  if (evidence === undefined) throw new Error('nothing is known of the part')
  const found = candidatesOf(evaluation, evidence, range)
  if (found === undefined) throw new Error('nothing is predicted')
  return { ...found, takes: (ratio: number) => evidence.ledger.at(ratio).proofV }
}

describe('the candidates of a next trial', () => {
  it('are of the ratios of the steps and one above', async () => {
    const found = await candidates(bench.replace('1 to 8 cores   50x', '1 to 2 cores 52x; 3 to 8 cores 50x'))
    expect(found.ratios).toEqual([50, 52])
    expect([...new Set(found.candidates.map(({ ratio }) => ratio))]).toEqual([50, 52, 53])
    // None above the part's highest.
    const top = await candidates(bench.replace('8x to 60x', '8x to 50x').replace(/ {4}53x .*\n/, ''))
    expect([...new Set(top.candidates.map(({ ratio }) => ratio))]).toEqual([50])
  })

  it('are on the grid of the board, from 60 mV below to 30 mV above what the ratio takes', async () => {
    for (const stepMv of [5, 10]) {
      const board = `board plank { core-voltage-step ${stepMv} mV }\n`
      const text = bench.replace(/^profile daily \{$/m, `${board}\nprofile daily {\n  board plank`)
      const { candidates: all, takes } = await candidates(text)
      for (const ratio of [50, 51]) {
        const own = all.filter(one => one.ratio === ratio)
        const over = own.map(({ comparableV }) => comparableV - takes(ratio))
        // Leakage heats the die a little more at more voltage, which moves what it needs by a millivolt or two.
        expect(Math.min(...over)).toBeGreaterThan(-0.062)
        expect(Math.min(...over)).toBeLessThan(-0.058 + stepMv / 1000)
        expect(Math.max(...over)).toBeLessThan(0.032)
        expect(Math.max(...over)).toBeGreaterThan(0.028 - stepMv / 1000)
        for (const { setV } of own) expect((1000 * setV) / stepMv).toBeCloseTo(Math.round((1000 * setV) / stepMv), 9)
      }
    }
  })

  it('have no voltage beyond what is allowed, and no die at its limit', async () => {
    const free = await candidates()
    const most = Math.max(...free.candidates.map(({ setV }) => setV))
    const bound = await candidates(bench, { lowV: 0.65, highV: most - 0.02 })
    expect(Math.max(...bound.candidates.map(({ setV }) => setV))).toBeLessThanOrEqual(most - 0.02 + 1e-9)
    const dies = free.candidates.map(({ dieC }) => dieC)
    const below = (limitC: number) => candidates(bench.replace('die-limit 100 °C', `die-limit ${limitC} °C`))
    const [hottest, coldest] = [Math.floor(Math.max(...dies)), Math.floor(Math.min(...dies))]
    const cold = await below(hottest - 1)
    // Less voltage still runs where more of it meets the limit.
    expect([...new Set(cold.candidates.map(({ ratio }) => ratio))]).toEqual([50, 51])
    for (const { dieC } of cold.candidates) expect(dieC).toBeLessThan(hottest - 1)
    expect(cold.candidates.length).toBeLessThan(free.candidates.length)
    expect(cold.unreached).toEqual([])
    const none = await below(coldest - 1)
    expect(none.candidates).toEqual([])
    expect(none.unreached.map(({ ratio }) => ratio)).toEqual([50, 51])
  })
})
