import { describe, expect, test } from 'vitest'
import { settle } from '../../server/model/settle.ts'
import { simulate } from '../../server/model/transient/simulate.ts'
import type { Bench, ThermoelectricCooler } from '../../server/model/types.ts'
import { constantsAt } from '../oracle/module-constants.ts'
import { ratesPlain } from '../oracle/plain.ts'
import { allCores, benchWith, fanTable, realPlate, room } from './transient-bench.ts'
import { solveByOdex } from './transient-odex.ts'

/**
 * The current under `drive supply` over time (model section 10): at each tick the one that the voltage drives with plate
 * and coolant as they then are, held until the next. Between the ticks the package `odex` integrates.
 */

const zeroC = 273.15
const cooler: ThermoelectricCooler = { ...realPlate, plateHeatJPerK: 30, coolantHeatJPerK: 80 }

/** The current through a module at a voltage U = S·(α(Th − Tc) + iR) + r·P·i, and at least 0, by halving. */
function drivenA(of: ThermoelectricCooler, volts: number, plateC: number, coolantC: number): number {
  const [plateK, coolantK] = [plateC + zeroC, coolantC + zeroC]
  const { modules: n, blockResistanceKPerW: block, wiringSeries: s = n, wiringParallel: p = 1, leadsOhm: r = 0 } = of
  const askedV = (i: number): number => {
    // The hot side that block and modules settle on, with the constants at its own mean.
    let hotK = coolantK
    for (let round = 0; round < 200; round++) {
      const { seebeck, ohm, conductance } = constantsAt(of, (plateK + hotK) / 2)
      hotK =
        (coolantK + n * block * ((i * i * ohm) / 2 + conductance * plateK)) /
        (1 - n * block * (seebeck * i - conductance))
    }
    const { seebeck, ohm } = constantsAt(of, (plateK + hotK) / 2)
    return s * (seebeck * (hotK - plateK) + i * ohm) + r * p * i
  }
  let [low, high] = [0, Math.min(of.driveCurrentA, (of.supplyLimitA ?? Number.POSITIVE_INFINITY) / p)]
  if (askedV(0) >= volts) return 0
  if (askedV(high) <= volts) return high
  for (let round = 0; round < 60; round++) {
    const middle = (low + high) / 2
    if (askedV(middle) < volts) low = middle
    else high = middle
  }
  return (low + high) / 2
}

const supplied = (voltageV: number, of = cooler): Bench =>
  benchWith({
    cooler: of,
    part: { ratioLow: 49, dieLimitC: 200 },
    profile: { fan: fanTable, drive: { kind: 'supply', voltageV } },
  })

interface Case {
  readonly name: string
  readonly bench: Bench
  readonly volts: number
  readonly tickS: number
}

const cases: readonly Case[] = [
  { name: '8 V, ticks of 10 ms', bench: supplied(8), volts: 8, tickS: 0.01 },
  { name: '8 V, ticks of 200 ms', bench: supplied(8), volts: 8, tickS: 0.2 },
  {
    name: '14 V, the limit of the supply on the way',
    bench: supplied(14, { ...cooler, supplyLimitA: 10.6 }),
    volts: 14,
    tickS: 0.05,
  },
  { name: 'a trace of voltage', bench: supplied(0.4), volts: 0.4, tickS: 0.05 },
]

describe('a supply over time, tick by tick', () => {
  test.each(cases)('$name: as an independent integrator has it', ({ bench, volts, tickS }) => {
    const ticks = 120
    const run = simulate(bench, allCores, room, { overS: ticks * tickS, tickS, sampleS: tickS })
    const idle = settle(bench, { kind: 'idle' }, room)
    if (run === undefined || idle?.dieC == null || idle.plateC === null || idle.coolantC === null)
      throw new Error('no run')
    if (bench.cooler.kind !== 'thermoelectric') throw new Error('no plate')
    let [die, plate, coolant] = [idle.dieC, idle.plateC, idle.coolantC]
    const off = { plate: 0, coolant: 0, current: 0 }
    const currents: number[] = []
    for (let tick = 0; tick <= ticks; tick++) {
      const i = drivenA(bench.cooler, volts, plate, coolant)
      currents.push(i)
      // Without a band or a limit the ratio stays where it is.
      off.plate = Math.max(off.plate, Math.abs((run.series.plateC[tick] as number) - plate))
      off.coolant = Math.max(off.coolant, Math.abs((run.series.coolantC[tick] as number) - coolant))
      off.current = Math.max(off.current, Math.abs((run.series.driveA[tick] as number) - i))
      const [nextDie, nextPlate, nextCoolant] = solveByOdex(
        ([d = 0, p = 0, c = 0]) => {
          const at = ratesPlain(bench, allCores, room, 49, { i, duty: 1 }, { die: d, plate: p, coolant: c, sensed: d })
          return [at.die, at.plate, at.coolant]
        },
        [die, plate, coolant],
        tickS,
        1e-11,
      ) as [number, number, number]
      die = nextDie
      plate = nextPlate
      coolant = nextCoolant
    }
    expect(off.plate).toBeLessThan(1e-7)
    expect(off.coolant).toBeLessThan(1e-7)
    expect(off.current).toBeLessThan(1e-7)
    // The plate moves, and the current with it, unless a limit holds it.
    expect(Math.abs(plate - idle.plateC)).toBeGreaterThan(2)
    expect(Math.max(...currents) - Math.min(...currents)).toBeGreaterThan(0.05)
  })

  test('holds its current between the ticks: a slow look makes another course', () => {
    const at = (tickS: number): number =>
      simulate(supplied(8), allCores, room, { overS: 4, tickS, sampleS: 4 })?.series.plateC.at(-1) ?? Number.NaN
    expect(Math.abs(at(0.2) - at(0.01))).toBeGreaterThan(1e-3)
  })
})
