import { describe, expect, test } from 'vitest'
import { createCurrentTable } from '../../server/model/cooler/thermoelectric/current-table.ts'
import { TargetCurve } from '../../server/model/cooler/thermoelectric/target.ts'
import { prepareBench, prepareCorner, prepareLoad } from '../../server/model/prepare.ts'
import { ratioSource } from '../../server/model/ratio-source.ts'
import { settle } from '../../server/model/settle.ts'
import { createNetwork, DIE, STATE_SIZE } from '../../server/model/transient/network.ts'
import { simulate } from '../../server/model/transient/simulate.ts'
import { integrate } from '../harness/integrate.ts'
import { sampleOf, wantedOf } from '../oracle/generate.ts'
import { runningPlain } from '../oracle/plain.ts'
import { allCores, benchWith, fanTable, plateCooler, room } from './transient-bench.ts'

const throttled = benchWith({ profile: { limits: { dieC: 64 }, fan: fanTable } })
const guarded = benchWith({ cooler: plateCooler, profile: { drive: { kind: 'dew', marginK: 2 }, fan: fanTable } })

describe('the start', () => {
  test('is steady idle, and nothing is given back', () => {
    const idle = settle(throttled, { kind: 'idle' }, room)
    const run = simulate(throttled, allCores, room, { overS: 1 })
    expect(run?.series.timeS[0]).toBe(0)
    expect(run?.series.plateC[0]).toBe(idle?.plateC)
    expect(run?.series.coolantC[0]).toBe(idle?.coolantC)
    expect(run?.series.clockMhz[0]).toBe(4900)
    // The load's own rise of the hottest core is there at once.
    const dynamicW = runningPlain(throttled, allCores, 49, idle?.dieC ?? 0).dynamicW
    expect(run?.series.dieC[0]).toBeCloseTo((idle?.dieC ?? 0) + (0.4 * dynamicW) / 10, 9)
  })
  test('is not there where no step covers the load, or where idle itself has no steady state', () => {
    expect(simulate(throttled, { ...allCores, cores: 11 }, room, { overS: 1 })).toBeUndefined()
    const overdriven = benchWith({ cooler: { ...plateCooler, driveCurrentA: 60 } })
    expect(settle(overdriven, { kind: 'idle' }, room)?.state).toBe('runaway')
    expect(simulate(overdriven, allCores, room, { overS: 1 })).toBeUndefined()
  })
})

describe('what is read off a run', () => {
  test('does not depend on how often it is sampled', () => {
    for (const bench of [throttled, guarded]) {
      const runs = [0.01, 0.37, 1, 60].map(sampleS => simulate(bench, allCores, room, { overS: 120, sampleS }))
      const [finest, ...others] = runs.map(run => {
        const { series: _series, late, ...rest } = run ?? { series: undefined, late: null }
        // Sums taken in another order differ by rounding.
        return { ...rest, late: Object.entries(late ?? {}).map(([figure, value]) => `${figure} ${value.toFixed(9)}`) }
      })
      for (const other of others) expect(other).toEqual(finest)
      expect(runs[0]?.series.timeS).toHaveLength(12_001)
      // Where two series meet they show the same moment.
      expect(runs[2]?.series.dieC[60]).toBeCloseTo(runs[0]?.series.dieC[6000] as number, 9)
      expect(runs[2]?.series.plateC[60]).toBeCloseTo(runs[0]?.series.plateC[6000] as number, 9)
    }
  })

  test('changes little with half the tick', () => {
    for (const bench of [throttled, guarded]) {
      const [whole, half] = [0.01, 0.005].map(tickS => simulate(bench, allCores, room, { overS: 900, tickS })?.late)
      expect(Math.abs((whole?.dieC ?? 0) - (half?.dieC ?? 99))).toBeLessThan(0.05)
      expect(Math.abs((whole?.clockMhz ?? 0) - (half?.clockMhz ?? 99))).toBeLessThan(5)
      expect(Math.abs((whole?.powerW ?? 0) - (half?.powerW ?? 99))).toBeLessThan(0.3)
    }
  })

  test('the sliding second is the lowest mean over any hundred ticks, wherever it begins', () => {
    const run = simulate(throttled, allCores, room, { overS: 200, sampleS: 0.01 })
    const clocks = (run?.series.clockMhz ?? []).slice(1)
    let sum = clocks.slice(0, 100).reduce((total, one) => total + one, 0)
    let [lowest, endS] = [sum, 1]
    for (let end = 100; end < clocks.length; end++) {
      sum += (clocks[end] as number) - (clocks[end - 100] as number)
      if (sum < lowest - 1e-6) [lowest, endS] = [sum, (end + 1) / 100]
    }
    expect(lowest / 100).toBeLessThan(4890)
    expect(run?.lowestSecondMhz).toBeCloseTo(lowest / 100, 6)
    expect(run?.lowestSecondS).toBeCloseTo(endS, 6)
  })

  test('a run of less than a second has its whole length for a second', () => {
    const run = simulate(throttled, allCores, room, { overS: 0.3 })
    expect(run?.endS).toBe(0.3)
    expect(run?.lowestSecondMhz).toBeCloseTo(4900, 9)
  })

  test('a machine that trips before the last fifth has no late means, and its series ends at the trip', () => {
    const cooler = { ...plateCooler, modules: 1 }
    const run = simulate(benchWith({ part: { ratioLow: 48 }, cooler }), allCores, room, { overS: 3000 })
    expect(run?.tripped).toBe(true)
    expect(run?.late).toBeNull()
    expect(run?.series.timeS.at(-1)).toBe(run?.endS)
    expect(run?.series.dieC.at(-1)).toBeGreaterThanOrEqual(110)
    expect(run?.events.at(-1)).toEqual({ timeS: run?.endS, kind: 'trip', what: 'the machine stops: trip at 110 °C' })
  })
  test('a trip of its own counts', () => {
    const run = simulate(benchWith({ part: { tripC: 60 } }), allCores, room, { overS: 300 })
    expect(run?.tripped).toBe(true)
    expect(run?.events.map(event => event.what)).toEqual(['the machine stops: trip at 60 °C'])
    expect(run?.firstDropS).toBeNull()
  })
})

describe('events', () => {
  test('come in the order in which they first happen, each once', () => {
    const profile = {
      bands: [
        { fromCores: 1, toCores: 10, aboveC: 55, drop: 1 },
        { fromCores: 1, toCores: 10, aboveC: 59, drop: 2 },
      ],
      limits: { sustainedPowerW: 180, sustainedOverS: 60, dieC: 95 },
    }
    const run = simulate(benchWith({ profile }), allCores, room, { overS: 400 })
    expect(run?.events.map(event => event.what)).toEqual([
      'ratio given back: band above 55 °C',
      'ratio given back: band above 59 °C',
      'ratio given back: sustained power',
    ])
    const times = run?.events.map(event => event.timeS) ?? []
    expect([...times].sort((a, b) => a - b)).toEqual(times)
    expect(run?.firstDropS).toBe(times[0])
  })

  test('a cap is no event: it holds before the load begins', () => {
    const run = simulate(benchWith({ profile: { limits: { burstPowerW: 150 } } }), allCores, room, { overS: 60 })
    expect(run?.events).toEqual([])
    expect(run?.series.clockMhz[0]).toBeLessThan(4900)
  })
})

describe('the pieces', () => {
  test("section 5's current off its table is section 5's current", () => {
    let compared = 0
    for (let seed = 0; seed < 200 && compared < 12; seed++) {
      const { bench, corner } = sampleOf(seed, wantedOf(seed))
      if (bench.cooler.kind !== 'thermoelectric') continue
      const { curve } = prepareCorner(prepareBench(bench), corner)
      const held = curve as typeof curve & { readonly plate?: unknown; readonly currentAt: (heatW: number) => number }
      const { plate } = held
      if (!(plate instanceof TargetCurve)) continue
      compared++
      const table = createCurrentTable(heatW => held.currentAt(heatW), plate.idleToW, bench.cooler.driveCurrentA)
      for (let heatW = 1; heatW < 260; heatW += 3.7) {
        const exact = held.currentAt(heatW)
        expect(Math.abs(table(heatW) - exact), `${seed} at ${heatW} W`).toBeLessThan(2e-9)
      }
    }
    expect(compared).toBe(12)
  })

  test.each([1, 1.5, 2, 3, 5])('power behind a load line, leakage exponent %d, and its slope', leakageExponent => {
    const bench = benchWith({ part: { leakageExponent, leakageW: 60 }, board: { loadLineOhm: 0.0011 } })
    const network = createNetwork(bench, allCores, room)
    const prepared = prepareBench(bench)
    const { setV } = ratioSource(prepared, prepareLoad(prepared, allCores), [49])
    network.holdRatios([49], [setV])
    for (const dieAndLidC of [20, 60, 61, 110, 150, 20]) {
      const { powerW, dynamicW, voltageV } = { ...network.powerAt(dieAndLidC) }
      const hottestC = dieAndLidC + (0.4 * dynamicW) / 10
      const theirs = runningPlain(bench, allCores, 49, hottestC)
      expect(powerW / theirs.powerW).toBeCloseTo(1, 9)
      expect(voltageV).toBeCloseTo(theirs.dieV, 9)
      const state = Float64Array.from([dieAndLidC, 40, 30, 50, 0])
      const [up, down] = [1e-4, -1e-4].map(by => {
        const out = new Float64Array(STATE_SIZE)
        network.derivative(
          Float64Array.from(state, (value, index) => value + (index === DIE ? by : 0)),
          out,
        )
        return out
      }) as [Float64Array, Float64Array]
      const jacobian = new Float64Array(STATE_SIZE * STATE_SIZE)
      network.jacobian(state, jacobian)
      for (let row = 0; row < STATE_SIZE; row++) {
        const measured = ((up[row] as number) - (down[row] as number)) / 2e-4
        expect(Math.abs((jacobian[row * STATE_SIZE + DIE] as number) - measured)).toBeLessThan(
          1e-5 * (1 + Math.abs(measured)),
        )
      }
    }
  })

  test.each(Array.from({ length: 24 }, (_, index) => index))('the whole Jacobian of generated bench %d', seed => {
    const { bench, load, corner } = sampleOf(seed, wantedOf(seed))
    if (load.kind !== 'work') return
    const network = createNetwork(bench, load, corner)
    network.holdRatios([44], [1.1])
    network.holdCurrent(bench.cooler.kind === 'thermoelectric' ? bench.cooler.driveCurrentA / 2 : 0)
    const state = Float64Array.from([61.3, 42.7, 33.123, 60.1, 0])
    const jacobian = new Float64Array(STATE_SIZE * STATE_SIZE)
    network.jacobian(state, jacobian)
    for (let column = 0; column < STATE_SIZE; column++) {
      const [up, down] = [1e-4, -1e-4].map(by => {
        const out = new Float64Array(STATE_SIZE)
        network.derivative(
          Float64Array.from(state, (value, index) => value + (index === column ? by : 0)),
          out,
        )
        return out
      }) as [Float64Array, Float64Array]
      for (let row = 0; row < STATE_SIZE; row++) {
        const measured = ((up[row] as number) - (down[row] as number)) / 2e-4
        const analytic = jacobian[row * STATE_SIZE + column] as number
        expect(Math.abs(analytic - measured), `row ${row}, column ${column}`).toBeLessThan(
          1e-5 * (1 + Math.abs(measured)),
        )
      }
    }
  })

  test('a network left alone ends at the balance of section 6', () => {
    for (const bench of [benchWith(), benchWith({ cooler: plateCooler, profile: { fan: fanTable } })]) {
      const settled = settle(bench, allCores, room)
      const network = createNetwork(bench, allCores, room)
      network.holdRatios([49], [settled?.setV ?? 0])
      network.holdCurrent(settled?.driveA ?? 0)
      const start = Float64Array.from([30, 25, 23, 30, 0])
      const end = integrate(network, start, 2e5, { relative: 1e-10, absolute: 1e-10 })
      expect(settled?.state).toBe('steady')
      expect(network.hottestC(end[DIE] as number)).toBeCloseTo(settled?.dieC ?? 0, 7)
      expect(network.coolantC(end)).toBeCloseTo(settled?.coolantC ?? 0, 7)
      expect(network.driveW(end)).toBeCloseTo(settled?.driveW ?? 0, 6)
    }
  })
})
