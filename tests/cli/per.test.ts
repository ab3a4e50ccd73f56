import { describe, expect, it } from 'vitest'
import { temporaryFolder } from '../harness/process.ts'
import { railed, soundSteps, twoGroups } from '../harness/two-groups.ts'
import { benchText, detent } from './helpers.ts'

/** `predict --per`: each difference is that of two predictions of the files, with and without the change. */

interface Side {
  readonly clock_mhz: number | null
  readonly power_w: number | null
  readonly die_c: number | null
  readonly margin_w: number | null
}

interface PerJson {
  readonly version: number
  readonly per: readonly (Side & {
    readonly file: string
    readonly profile: string
    readonly load: string
    readonly change: string
    readonly amount: number
    readonly unit: string
    readonly other_side: Side | null
    readonly jump: boolean
  })[]
  readonly measure_next: readonly { readonly definition: string; readonly key: string; readonly share: number }[]
}

const keys = ['clock_mhz', 'power_w', 'die_c', 'margin_w'] as const

const loop = benchText(
  '  voltage { core needs + 50 mV }\n  limits { sustained-power 50 W; current 60 A; die 90 °C }\n  bands { 1 to 4 cores above 36 °C -1x }\n',
).replace('switching 2 nF', 'switching 2 nF ± 0.1 nF')

const plate = loop
  .replace(
    /cooler tower kind air \{[\s\S]*?\n\}/,
    `cooler tower kind thermoelectric {
  modules 2
  module { at 27 °C; current 15 A; voltage 15.4 V; heat 142 W; difference 68 K }
  drive-current 9 A
  block-resistance 0.03 K/W
  radiator { 100 % 0.04 K/W }
}`,
  )
  .replace('  voltage {', '  drive dew + 2 K\n  voltage {')

/** A voltage row of its own, and the other power limit. */
const setRow = benchText('  voltage { core needs + 50 mV; set 46x 1.180 V }\n  limits { burst-power 45 W }\n')
const fixed = benchText('  voltage { core fixed 1.200 V }\n')
const fixedDrive = plate.replace('drive dew + 2 K', 'drive fixed 5 A')
const heldDrive = plate.replace('drive dew + 2 K', 'drive hold 18 °C')

type Edits = Readonly<Record<string, readonly (readonly [from: string | RegExp, more: string, less: string])[]>>

/** Each change as two edits of the file: as much more, and as much less. */
const common: Edits = {
  air: [['air 20 °C', 'air 21 °C', 'air 19 °C']],
  humidity: [['humidity 40 %', 'humidity 50 %', 'humidity 30 %']],
  'limits sustained-power': [['sustained-power 50 W', 'sustained-power 60 W', 'sustained-power 40 W']],
  'limits current': [['current 60 A', 'current 70 A', 'current 50 A']],
  'limits die': [['die 90 °C', 'die 92 °C', 'die 88 °C']],
  voltage: [['needs + 50 mV', 'needs + 60 mV', 'needs + 40 mV']],
  'steps 1 to 4 cores': [['1 to 4 cores   46x', '1 to 4 cores 47x', '1 to 4 cores 45x']],
  'needs-slope': [['idle-power', 'needs-slope 0.1 mV/K\n  idle-power', 'needs-slope -0.1 mV/K\n  idle-power']],
  leakage: [['leakage 8 W', 'leakage 8.8 W', 'leakage 7.2 W']],
}
const ofLoop: Edits = {
  ...common,
  radiator: [['100 % 0.1 K/W', '100 % 0.11 K/W', '100 % 0.09 K/W']],
  'block-resistance': [['block-resistance 0.05', 'block-resistance 0.055', 'block-resistance 0.045']],
}
const ofPlate: Edits = {
  ...common,
  radiator: [['100 % 0.04 K/W', '100 % 0.044 K/W', '100 % 0.036 K/W']],
  'block-resistance': [['block-resistance 0.03', 'block-resistance 0.033', 'block-resistance 0.027']],
  'drive dew': [['dew + 2 K', 'dew + 3 K', 'dew + 1 K']],
}

const ofPlain: Edits = {
  air: common.air ?? [],
  humidity: common.humidity ?? [],
  'steps 1 to 4 cores': common['steps 1 to 4 cores'] ?? [],
  'needs-slope': common['needs-slope'] ?? [],
  leakage: common.leakage ?? [],
  radiator: ofLoop.radiator ?? [],
  'block-resistance': ofLoop['block-resistance'] ?? [],
}
const ofSetRow: Edits = {
  ...ofPlain,
  voltage: [
    ['needs + 50 mV', 'needs + 60 mV', 'needs + 40 mV'],
    ['46x 1.180 V', '46x 1.190 V', '46x 1.170 V'],
  ],
  'limits burst-power': [['burst-power 45 W', 'burst-power 55 W', 'burst-power 35 W']],
}
const ofFixed: Edits = { ...ofPlain, voltage: [['core fixed 1.200 V', 'core fixed 1.210 V', 'core fixed 1.190 V']] }
const { 'drive dew': _, ...ofAnyPlate } = ofPlate
const ofFixedDrive: Edits = { ...ofAnyPlate, drive: [['drive fixed 5 A', 'drive fixed 6 A', 'drive fixed 4 A']] }
const ofHeldDrive: Edits = { ...ofAnyPlate, 'drive hold': [['hold 18 °C', 'hold 19 °C', 'hold 17 °C']] }

/** Two kinds of cores, each on a rail of its own and with voltages of its own. */
const groups = railed(
  twoGroups(`${soundSteps}
  voltage { core broad needs + 50 mV; core small needs + 40 mV }
  limits { current main 95 A; current second 25 A }`),
)
  .replace('load whole', 'load work')
  .replace(/load few .*\n/, '')
const ofGroups: Edits = {
  air: [['air 25 °C', 'air 26 °C', 'air 24 °C']],
  humidity: [['humidity 48 %', 'humidity 58 %', 'humidity 38 %']],
  radiator: [['40 % 0.055 K/W; 100 % 0.034', '40 % 0.0605 K/W; 100 % 0.0374', '40 % 0.0495 K/W; 100 % 0.0306']],
  'block-resistance': [['block-resistance 0.043', 'block-resistance 0.0473', 'block-resistance 0.0387']],
  voltage: [
    ['broad needs + 50 mV', 'broad needs + 60 mV', 'broad needs + 40 mV'],
    ['small needs + 40 mV', 'small needs + 50 mV', 'small needs + 30 mV'],
  ],
  'voltage broad': [['broad needs + 50 mV', 'broad needs + 60 mV', 'broad needs + 40 mV']],
  'voltage small': [['small needs + 40 mV', 'small needs + 50 mV', 'small needs + 30 mV']],
  'steps broad 3 to 4 cores': [['3 to 4 cores   50x', '3 to 4 cores 51x', '3 to 4 cores 49x']],
  'steps small 1 to 10 cores': [['1 to 10 cores  40x', '1 to 10 cores 41x', '1 to 10 cores 39x']],
  'limits current main': [['current main 95 A', 'current main 105 A', 'current main 85 A']],
  'limits current second': [['current second 25 A', 'current second 35 A', 'current second 15 A']],
  'needs-slope': [['idle-power', 'needs-slope 0.1 mV/K\n  idle-power', 'needs-slope -0.1 mV/K\n  idle-power']],
  leakage: [['leakage 17 W', 'leakage 18.7 W', 'leakage 15.3 W']],
}

type Predictions = readonly (Side & { readonly load: string })[]

/** Every load of a text at once, since each text is asked about all of them. */
const known = new Map<string, Promise<Predictions>>()

async function predictionsOf(text: string): Promise<Predictions> {
  using own = temporaryFolder({ 'a.detent': text })
  const answer = await detent(own.path, ['predict', '--output', 'json'])
  return (JSON.parse(answer.out) as { predictions: Predictions }).predictions
}

async function predicted(text: string, load: string): Promise<Side> {
  const asked = known.get(text) ?? predictionsOf(text)
  known.set(text, asked)
  const found = (await asked).find(one => one.load === load)
  if (found === undefined) throw new Error(`no prediction of ${load}`)
  return found
}

async function per(text: string): Promise<PerJson> {
  using folder = temporaryFolder({ 'a.detent': text })
  const { out, err, code } = await detent(folder.path, ['predict', '--per', '--output', 'json'])
  expect({ err, code }).toEqual({ err: '', code: 0 })
  return JSON.parse(out) as PerJson
}

function edited(text: string, edits: Edits[string], side: 1 | 2): string {
  return edits.reduce((all, edit) => {
    expect(all).toMatch(edit[0])
    return all.replace(edit[0], edit[side])
  }, text)
}

describe('detent predict --per', () => {
  it.each([
    ['a tower', loop, ofLoop],
    ['a plate', plate, ofPlate],
    ['a row of set, and a burst limit', setRow, ofSetRow],
    ['a fixed voltage', fixed, ofFixed],
    ['a fixed drive', fixedDrive, ofFixedDrive],
    ['a held plate', heldDrive, ofHeldDrive],
    ['cores of two kinds', groups, ofGroups],
  ])('gives differences of two predictions, on both sides: %s', async (_, text, edits) => {
    const found = await per(text)
    for (const load of ['work', 'idle']) {
      const rows = found.per.filter(row => row.load === load)
      const wanted = Object.keys(edits).filter(name => load === 'work' || !/^(?:steps|voltage)/.test(name))
      expect(rows.map(({ change }) => change).sort()).toEqual(wanted.sort())
      const now = await predicted(text, load)
      for (const row of rows) {
        const [more, less] = await Promise.all(
          ([1, 2] as const).map(side => predicted(edited(text, edits[row.change] ?? [], side), load)),
        )
        for (const key of keys) {
          const [was, is, back] = [now[key], more?.[key], less?.[key]]
          const where = `${load}, ${row.change}, ${key}`
          if (was === null) expect(row[key], where).toBeNull()
          else {
            expect(row[key], where).toBeCloseTo((is ?? Number.NaN) - was, 7)
            expect(row.other_side?.[key], where).toBeCloseTo((back ?? Number.NaN) - was, 7)
          }
        }
      }
    }
  })

  it('is compared for every kind of change that there is', () => {
    const edits = [ofLoop, ofPlate, ofSetRow, ofFixed, ofFixedDrive, ofHeldDrive]
    const kinds = new Set(edits.flatMap(one => Object.keys(one)).map(name => name.replace(/^steps .*/, 'steps')))
    const all = ['air', 'humidity', 'radiator', 'block-resistance', 'voltage', 'steps', 'needs-slope', 'leakage']
    const limits = ['sustained-power', 'burst-power', 'current', 'die'].map(name => `limits ${name}`)
    expect([...kinds].sort()).toEqual([...all, ...limits, 'drive', 'drive dew', 'drive hold'].sort())
  })

  it('sorts by the clock, then the margin, and calls two unlike sides a jump', async () => {
    const { per: rows } = await per(loop)
    const work = rows.filter(({ load }) => load === 'work')
    const clocks = work.map(({ clock_mhz }) => Math.abs(clock_mhz ?? Number.NaN))
    expect(clocks).toEqual([...clocks].sort((a, b) => b - a))
    for (const { jump, other_side, ...more } of work) {
      const unlike = keys.some(key => {
        const [up, down] = [more[key] ?? 0, -(other_side?.[key] ?? 0)]
        const [far, near] = Math.abs(up) > Math.abs(down) ? [up, down] : [down, up]
        return (
          Math.abs(far) > { clock_mhz: 1, power_w: 0.1, die_c: 0.05, margin_w: 0.1 }[key] &&
          (far * near <= 0 || far / near > 2)
        )
      })
      expect(jump, more.change).toBe(unlike)
    }
    expect(work.some(({ jump }) => jump) && work.some(({ jump }) => !jump)).toBe(true)
  })

  it('leaves out what does not apply', async () => {
    const plain = benchText('').replace('humidity 40 %', 'humidity 100 %').replace('46x', '50x')
    const { per: rows, measure_next: next } = await per(plain)
    const changes = new Set(rows.map(({ change }) => change))
    for (const name of ['humidity', 'limits current', 'limits die', 'limits sustained-power', 'drive dew'])
      expect(changes).not.toContain(name)
    expect(changes).toContain('air')
    expect(rows.every(({ file, profile }) => file === 'a.detent' && profile === 'daily')).toBe(true)
    // The steps hold whatever the constants are: no clock depends on any.
    expect(next).toEqual([])
  })

  it('shares the variance of the clock among the constants', async () => {
    const { measure_next: one } = await per(loop)
    expect(one).toContainEqual({ definition: 'sample', key: 'switching', share: expect.any(Number) })
    const two = await per(loop.replace('leakage 8 W', 'leakage 8 W ± 1 W'))
    const shares = two.measure_next.map(({ share }) => share)
    expect(shares.reduce((sum, share) => sum + share, 0)).toBeCloseTo(1, 12)
    expect(shares).toEqual([...shares].sort((a, b) => b - a))
    expect(two.measure_next.map(({ key }) => key)).toContain('leakage')
  })

  it('tells it in text', async () => {
    using folder = temporaryFolder({ 'a.detent': loop })
    const { out, err, code } = await detent(folder.path, ['predict', '--per', 'daily'])
    expect({ err, code }).toEqual({ err: '', code: 0 })
    expect(out).toMatch(/^profile daily {2}a\.detent:\d+\n {2}work \(4 cores\), at 20 °C, 40 % /)
    expect(out).toMatch(/^change +MHz +watts +die K +margin W$/m)
    expect(out).toMatch(/^air \+1 K +/m)
    expect(out).toContain('Worth measuring next')
  })

  it.each(['--runs', '--uncertainty', '--all'])('is refused beside %s', async option => {
    using folder = temporaryFolder({ 'a.detent': loop })
    const { out, err, code } = await detent(folder.path, ['predict', '--per', option])
    expect({ out, err, code }).toEqual({ out: '', err: `detent: --per and ${option} cannot be combined.\n`, code: 2 })
  })
})
