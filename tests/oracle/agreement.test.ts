/**
 * The model held against the slow reference on some hundreds of random
 * benches. `ORACLE_SEEDS=5000` in the environment asks for a longer run.
 */
import { afterAll, describe, expect, it } from 'vitest'
import { settle } from '../../server/model/index.ts'
import { differences } from './compare.ts'
import { addTo, allWanted, type Histogram, printed, sampleOf, type Wanted, wantedOf } from './generate.ts'
import { oracleSettle } from './settle.ts'

const kinds = allWanted.length
const seeds = Number(process.env.ORACLE_SEEDS ?? 11 * kinds)

/** A decision this narrow may fall either way in floating point. */
const knifeEdge = 1e-9

const reached: Histogram = new Map()
let compared = 0
let skipped = 0

const nameOf = (wanted: Wanted): string => `${wanted.cooler}, drive ${wanted.drive}, fan ${wanted.fan}`

/** One line for a bench on which the two differ. */
const disagreement = (seed: number): string | undefined => {
  const wanted = wantedOf(seed)
  const { bench, load, corner } = sampleOf(seed, wanted)
  const expected = oracleSettle(bench, load, corner)
  const got = settle(bench, load, corner)
  compared += 1
  addTo(reached, `${expected.state} ${expected.limiter}`)
  if (expected.notes.sustainedOver) addTo(reached, 'sustained-over')
  if (expected.notes.currentOver) addTo(reached, 'current-over')
  if (expected.notes.fanBelowData) addTo(reached, 'fan-below-data')
  if (expected.setV !== null && expected.marginW !== null && expected.marginW < 0) addTo(reached, 'negative margin')
  const differs = got === null ? ['no prediction'] : differences(got, expected)
  if (differs.length === 0) return undefined
  if (expected.edge >= knifeEdge) return `seed ${seed} (${nameOf(wanted)}): ${differs.join('; ')}`
  skipped += 1
  return undefined
}

const disagreements = (of: readonly number[]): string[] =>
  of.map(disagreement).filter((line): line is string => line !== undefined)

describe.each(allWanted.map((wanted, index) => ({ name: nameOf(wanted), index })))('$name', ({ index }) => {
  it('settles as the reference does', { timeout: seeds * 2_000 }, () => {
    const own = Array.from({ length: Math.ceil((seeds - index) / kinds) }, (_, turn) => index + turn * kinds)
    expect(disagreements(own)).toEqual([])
  })
})

/** Coldest currents at bends and jumps of the fan table, and plates near a pair of balances. */
const onceApart = [203, 269, 607, 662, 917, 1048, 1280, 1721, 2036, 2429, 2620, 4844].filter(seed => seed >= seeds)

describe('benches that once told the two apart', () => {
  it('settle as the reference does', { timeout: 120_000 }, () => {
    expect(disagreements(onceApart)).toEqual([])
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
    expect(reached.get(key) ?? 0, `\n${printed(reached)}\n`).toBeGreaterThanOrEqual(atLeast)
  })
  it('stand on a knife edge next to never', () => {
    expect(compared).toBe(seeds + onceApart.length)
    expect(skipped).toBeLessThanOrEqual(seeds / 100)
  })
})

afterAll(() => {
  if (process.env.ORACLE_SEEDS) console.log(printed(reached))
})
