/**
 * The model held against the slow reference on some hundreds of random
 * benches. `ORACLE_SEEDS=5000` in the environment asks for a longer run.
 */
import { afterAll, describe, expect, it } from 'vitest'
import { settle } from '../../server/model/index.ts'
import { differences, type Figure } from './compare.ts'
import { allWanted, Histogram, sampleOf, type Wanted, wantedOf } from './generate.ts'
import { oracleSettle } from './settle.ts'

const kinds = allWanted.length
const seeds = Number(process.env.ORACLE_SEEDS ?? 11 * kinds)

/** A decision this narrow may fall either way in floating point. */
const knifeEdge = 1e-9

/** Chilled water has no radiator, and the text does not say whether a fan then has a duty. */
const leftOpen = (wanted: Wanted): readonly Figure[] => (wanted.cooler === 'chilled' ? ['fanPct'] : [])

const reached = new Histogram()
let compared = 0
let skipped = 0

const nameOf = (wanted: Wanted): string => `${wanted.cooler}, drive ${wanted.drive}, fan ${wanted.fan}`

describe.each(allWanted.map((wanted, index) => ({ name: nameOf(wanted), index })))('$name', ({ index }) => {
  it('settles as the reference does', { timeout: seeds * 2_000 }, () => {
    const found: string[] = []
    for (let seed = index; seed < seeds; seed += kinds) {
      const wanted = wantedOf(seed)
      const { bench, load, corner } = sampleOf(seed, wanted)
      const expected = oracleSettle(bench, load, corner)
      const got = settle(bench, load, corner)
      compared += 1
      if (got === null) {
        found.push(`seed ${seed} (${nameOf(wanted)}): no prediction`)
        continue
      }
      reached.add(`${expected.state} ${expected.limiter}`)
      if (expected.notes.sustainedOver) reached.add('sustained-over')
      if (expected.notes.currentOver) reached.add('current-over')
      if (expected.notes.fanBelowData) reached.add('fan-below-data')
      if (expected.setV !== null && expected.marginW !== null && expected.marginW < 0) reached.add('negative margin')
      const differs = differences(got, expected, leftOpen(wanted))
      if (differs.length === 0) continue
      if (expected.edge < knifeEdge) skipped += 1
      else found.push(`seed ${seed} (${nameOf(wanted)}): ${differs.join('; ')}`)
    }
    expect(found).toEqual([])
  })
})

describe('the samples', () => {
  it.each([
    ['steady step', 10],
    ['steady vector', 2],
    ['steady band', 15],
    ['steady current', 10],
    ['steady burst-power', 10],
    ['steady none', 8],
    ['alternating band', 4],
    ['alternating sustained-power', 15],
    ['throttled die-limit', 20],
    ['over-limit die-limit', 10],
    ['runaway die-limit', 5],
    ['sustained-over', 4],
    ['current-over', 4],
    ['fan-below-data', 10],
    ['negative margin', 10],
  ])('reach %s', (key, atLeast) => {
    expect(reached.count(key), `\n${reached.print()}\n`).toBeGreaterThanOrEqual(atLeast)
  })
  it('stand on a knife edge next to never', () => {
    expect(compared).toBe(seeds)
    expect(skipped).toBeLessThanOrEqual(seeds / 100)
  })
})

afterAll(() => {
  if (process.env.ORACLE_SEEDS) console.log(reached.print())
})
