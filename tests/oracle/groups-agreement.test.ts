/**
 * The model compared with the slow reference on random chips of two and three groups, on one and two rails, with every
 * cooler, drive and fan. `GROUP_SEEDS=2000` in the environment asks for a longer run.
 */
import { afterAll, describe, expect, it } from 'vitest'
import { settle } from '../../server/model/index.ts'
import type { Settled, SettledGroup } from '../../server/model/types.ts'
import { isWhole } from '../harness/sampled.ts'
import { benchOf, loadOf } from './as-bench.ts'
import { differences } from './compare.ts'
import { allWanted, wantedOf } from './generate.ts'
import { groupSampleOf } from './generate-groups.ts'
import { type OracleSettled, settleTask } from './settle.ts'

const asked = process.env.GROUP_SEEDS
const count = asked === undefined ? 60 : Number(asked)
/** A target takes the reference some hundred times as long: a usual run leaves out every second of them. */
const isSlow = (seed: number): boolean => ['dew', 'hold'].includes(wantedOf(seed).drive)
const seeds = Array.from({ length: count }, (_, seed) => seed).filter(
  seed => isWhole || asked !== undefined || seed % 2 === 0 || !isSlow(seed),
)
const relative = 1e-6
/** A decision this narrow may fall either way in floating point. */
const knifeEdge = 1e-9

const allowance: Record<Exclude<keyof SettledGroup, 'group'>, (value: number, powerW: number) => number> = {
  cores: () => 0,
  ratio: value => relative * value,
  ratioLow: () => 1e-9,
  ratioHigh: () => 1e-9,
  clockMhz: value => relative * value,
  setV: () => 1e-9,
  voltageV: value => relative * value + 1e-9,
  needV: value => relative * value,
  dynamicW: (_value, powerW) => relative * powerW,
  leakageW: (_value, powerW) => relative * powerW,
  currentA: value => relative * value + 1e-9,
  coreC: value => relative * (value + 273.15),
}

const groupDifferences = (got: Settled, expected: OracleSettled): string[] =>
  expected.groups.flatMap((theirs, index) => {
    const ours = got.groups?.[index]
    if (ours === undefined) return [`group ${index} is missing`]
    const powerW = Math.max(10, expected.powerW ?? 0)
    return (Object.keys(allowance) as (keyof typeof allowance)[]).flatMap(name => {
      const [mine, other] = [ours[name], theirs[name]]
      if (mine === null || other === null ? mine === other : Math.abs(mine - other) <= allowance[name](other, powerW))
        return []
      return [`group ${index} ${name}: model ${mine}, second model ${other}`]
    })
  })

const seen = new Map<string, number>()
const shapes = new Map<string, number>()
const tally = (into: Map<string, number>, key: string): void => {
  into.set(key, (into.get(key) ?? 0) + 1)
}
let compared = 0
let skipped = 0

const disagreement = (seed: number): string | undefined => {
  const { chip, task, corner } = groupSampleOf(seed, wantedOf(seed))
  const expected = settleTask(chip, task, corner)
  const got = settle(benchOf(chip), loadOf(task), corner)
  compared++
  if (got === null) return `seed ${seed}: nothing settles`
  tally(seen, `${expected.state} ${expected.limiter}`)
  tally(shapes, `${chip.groups.length} groups`)
  tally(shapes, `${chip.rails.length} rail${chip.rails.length === 1 ? '' : 's'}`)
  tally(shapes, chip.bench.cooler.kind)
  const found = [...differences(got, expected), ...groupDifferences(got, expected)]
  if (found.length === 0) return undefined
  if (expected.edge < knifeEdge) {
    skipped++
    return undefined
  }
  return `seed ${seed} (${expected.state} ${expected.limiter}, edge ${expected.edge}): ${found.join('; ')}`
}

describe('groups, as the reference has them', () => {
  it(`agree on ${seeds.length} chips`, () => {
    const found = seeds.map(disagreement).filter(one => one !== undefined)
    expect(found).toEqual([])
    expect(allWanted.length).toBeLessThanOrEqual(count)
  }, 3_600_000)

  afterAll(() => {
    expect(compared).toBe(seeds.length)
    expect(skipped / compared).toBeLessThan(0.02)
    const kinds = [...seen.keys()].map(key => key.split(' ')[0])
    for (const state of ['steady', 'alternating', 'throttled', 'over-limit']) expect(kinds).toContain(state)
    for (const shape of ['2 groups', '3 groups', '1 rail', '2 rails', 'air', 'chilled', 'loop', 'thermoelectric'])
      expect(shapes.get(shape) ?? 0, shape).toBeGreaterThan(4)
    const told = [...seen, ...shapes].map(([key, found]) => `${key}: ${found}`).join(', ')
    process.stdout.write(`${told}; at an edge: ${skipped}\n`)
  })
})
