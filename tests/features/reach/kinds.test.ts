import { describe, expect, it } from 'vitest'
import type { ReachKind } from '../../../server/features/reach/types.ts'
import { reachKinds } from '../../../server/features/reach/types.ts'
import { applyEdits, formattedText } from '../../../server/service.ts'
import { type BenchValues, benchWith, checkedText, newIn, reachOf } from './bench.ts'

/** Each kind of change is an answer somewhere; each answer is checked from its text alone, and so is a step less of it. */

const plate = (drive: string): BenchValues => ({
  cooler: `kind thermoelectric {
  modules 3
  module { at 30 °C; current 11 A; voltage 15.5 V; heat 105 W; difference 68 K }
  drive-current 8 A
  drive-when-off no
  insulated yes
  radiator { 30 % 0.10 K/W; 100 % 0.06 K/W }
  block-resistance 0.03 K/W
}`,
  more: `drive ${drive}`,
})

const tank =
  'cooler tank kind chilled {\n  coolant 15 °C\n  capacity 200 W\n  beyond 0.1 K/W\n  block-resistance 0.05 K/W\n  insulated yes\n}\n'

interface Case {
  readonly kind: ReachKind
  readonly expectation: string
  /** The bench with this value in place of the one that changes. */
  readonly at: (value: number | string) => BenchValues
  readonly from: number | string
  readonly grain: number
  readonly one: number
}

const band = (above: number, drop: number, returnK = 4): BenchValues => {
  const row = drop === 0 ? '' : `    1 to 4 cores   above ${above} °C   -${drop}x\n`
  return { bands: `bands return ${returnK} K {\n${row}  }` }
}
const mv = (value: number | string): string => {
  const offset = Math.round(Number(value) * 1e6) / 1e3
  return offset === 0 ? 'core needs' : `core needs ${offset < 0 ? '-' : '+'} ${Math.abs(offset)} mV`
}
const decimals = (value: number): number => Number(value.toFixed(6))
const radiator = (percent: number | string, block: number | string): BenchValues => {
  const [low, high] = [0.2, 0.12].map(row => decimals((row * Number(percent)) / 100))
  return {
    cooler: `kind air {\n  radiator { 30 % ${low} K/W; 100 % ${high} K/W }\n  block-resistance ${block} K/W\n}`,
  }
}
const points = (by: number | string): string => {
  const [low, high] = [30, 60].map(duty => Math.min(100, Math.max(0, duty + Number(by))))
  return `fan { 20 °C ${low} %; 60 °C ${high} % }`
}

const cases: readonly Case[] = [
  { kind: 'step', expectation: 'sort holds >= 4.6 GHz', at: to => ({ step: `${to}x` }), from: 44, grain: 1, one: 1 },
  {
    kind: 'band-drop',
    expectation: 'sort holds >= 4.3 GHz',
    at: to => band(38, Number(to)),
    from: 3,
    grain: 1,
    one: 1,
  },
  {
    kind: 'band-threshold',
    expectation: 'sort holds >= 4.3 GHz',
    at: to => band(Number(to), 3),
    from: 39,
    grain: 1,
    one: 2,
  },
  {
    // A wide return keeps it in the band; a narrow one lets it out now and then.
    kind: 'return',
    expectation: 'sort holds >= 4.05 GHz',
    at: to => band(42, 5, Number(to)),
    from: 3,
    grain: 1,
    one: 2,
  },
  {
    kind: 'voltage-offset',
    expectation: 'sort voltage <= 1.14 V',
    at: to => ({ voltage: mv(to) }),
    from: 0.02,
    grain: 0.005,
    one: 0.01,
  },
  {
    kind: 'set',
    expectation: 'sort voltage <= 1.185 V',
    at: to => ({ voltage: `core needs + 20 mV; set 44x ${to} V` }),
    from: 1.2,
    grain: 0.005,
    one: 0.01,
  },
  {
    kind: 'fixed-voltage',
    expectation: 'sort voltage <= 1.225 V',
    at: to => ({ voltage: `core fixed ${to} V` }),
    from: 1.25,
    grain: 0.005,
    one: 0.01,
  },
  {
    kind: 'sustained-power',
    expectation: 'sort holds >= 4.4 GHz',
    at: to => ({ limits: `die 92 °C; sustained-power ${to} W over 30 s` }),
    from: 52,
    grain: 1,
    one: 10,
  },
  {
    kind: 'burst-power',
    expectation: 'sort holds >= 4.4 GHz',
    at: to => ({ limits: `die 92 °C; burst-power ${to} W` }),
    from: 52,
    grain: 1,
    one: 10,
  },
  {
    kind: 'current',
    expectation: 'sort holds >= 4.4 GHz',
    at: to => ({ limits: `die 92 °C; current ${to} A` }),
    from: 32,
    grain: 1,
    one: 10,
  },
  {
    kind: 'die',
    expectation: 'sort margin >= 120 W',
    at: to => ({ limits: `die ${to} °C` }),
    from: 74,
    grain: 1,
    one: 2,
  },
  {
    kind: 'fan',
    expectation: 'sort die <= 46.5 °C',
    at: to => ({ fan: points(to) }),
    from: 0,
    grain: 1,
    one: 10,
  },
  {
    kind: 'dew-margin',
    expectation: 'idle plate above dew by 3.5 K',
    at: to => plate(`dew + ${to} K`),
    from: 2,
    grain: 0.5,
    one: 1,
  },
  {
    kind: 'held-temperature',
    expectation: 'sort plate <= 12.5 °C',
    at: to => plate(`hold ${to} °C`),
    from: 14,
    grain: 0.5,
    one: 1,
  },
  {
    kind: 'drive-current',
    expectation: 'sort plate <= 5 °C',
    at: to => plate(`fixed ${to} A`),
    from: 3,
    grain: 0.1,
    one: 1,
  },
  {
    kind: 'drive-voltage',
    expectation: 'sort plate <= 12 °C',
    at: to => plate(`supply ${to} V`),
    from: 12,
    grain: 0.1,
    one: 1,
  },
  {
    kind: 'room-air',
    expectation: 'sort die <= 42.6 °C',
    at: to => ({ air: `18 °C to ${to} °C` }),
    from: 25,
    grain: 0.5,
    one: 1,
  },
  {
    kind: 'radiator',
    expectation: 'sort die <= 42 °C',
    at: to => radiator(to, 0.05),
    from: 100,
    grain: 1,
    one: 10,
  },
  {
    kind: 'block-resistance',
    expectation: 'sort die <= 43 °C',
    at: to => radiator(100, to),
    from: 0.05,
    grain: 0.0005,
    one: 0.005,
  },
  { kind: 'load-cores', expectation: 'sort power <= 45 W', at: to => ({ cores: `${to}` }), from: 4, grain: 1, one: 1 },
]

describe('each kind of change', () => {
  it.each(cases.map(one => [one.kind, one] as const))('is an answer: %s', async (kind, one) => {
    const { expectation, at, from, grain } = one
    const textAt = (value: number | string): string => benchWith(at(value), expectation)
    const base = textAt(from)
    const before = await checkedText(base)
    expect(before.holding).not.toContain(`tuned: ${expectation}`)
    const reach = await reachOf(base, expectation)
    expect(reach.now.holds).toBe(false)
    const answer = reach.answers.find(({ changes }) => changes[0]?.kind === kind)
    const [change] = answer?.changes ?? []
    if (answer === undefined || change === undefined) {
      throw new Error(`Not among ${JSON.stringify(reach.answers.map(({ changes }) => changes))}`)
    }
    expect(change.from).toBe(from)
    const to = Number(change.to)
    expect(answer.asks).toBeCloseTo(Math.abs(to - Number(from)) / one.one, 9)
    // What it writes is the bench with that value, and nothing else.
    const text = applyEdits(
      base,
      answer.edits.flatMap(({ edits }) => edits),
    )
    expect(formattedText(text)).toBe(formattedText(textAt(to)))
    const then = await checkedText(text)
    expect(then.holding).toContain(`tuned: ${expectation}`)
    expect(newIn(then.bad, before.bad)).toEqual([])
    const less = decimals(to - Math.sign(to - Number(from)) * grain)
    const nearer = await checkedText(textAt(less))
    const isAnswer =
      less !== from && nearer.holding.has(`tuned: ${expectation}`) && newIn(nearer.bad, before.bad).length === 0
    expect(isAnswer, `${less} does as well`).toBe(false)
  })

  it('is an answer: cooler', async () => {
    const expectation = 'sort die <= 38 °C'
    const base = benchWith({ other: tank }, expectation)
    const answer = (await reachOf(base, expectation)).answers.find(({ changes }) => changes[0]?.kind === 'cooler')
    expect(answer?.changes).toMatchObject([{ from: 'fins', to: 'tank', asks: 10, isBench: true, unit: null }])
    const text = applyEdits(base, answer?.edits.flatMap(({ edits }) => edits) ?? [])
    expect(text).toBe(base.replace('  cooler fins\n', '  cooler tank\n'))
    expect((await checkedText(text)).holding).toContain(`tuned: ${expectation}`)
  })

  it('has a case here', () => {
    const tested = new Set<string>([...cases.map(({ kind }) => kind), 'cooler'])
    expect(reachKinds.filter(kind => !tested.has(kind))).toEqual([])
  })
})
