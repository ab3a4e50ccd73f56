import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { settle } from '../../server/model/settle.ts'
import type { Drive, Load, ThermoelectricCooler } from '../../server/model/types.ts'
import { benchWith, corners, fans, plate, work } from './benches.ts'

const of = fc.constantFrom
/** What a slip of the keyboard makes of a plate, each value still one that can be written. */
const slips: fc.Arbitrary<ThermoelectricCooler> = fc
  .record({
    series: of(1, 2, 3),
    parallel: of(1, 1, 2),
    seebeckVPerK: of(0.02, 0.05, 0.08),
    resistanceOhm: of(0.05, 0.5, 1, 3),
    conductanceWPerK: of(0.1, 1, 3),
    driveCurrentA: of(0, 0.5, 5, 15, 60),
    blockResistanceKPerW: of(0, 0.02, 0.06, 0.5),
    radiatorKPerW: of(0.0001, 0.01, 0.05, 0.3, 1.03, 5),
    isSlowed: fc.boolean(),
    constantsAtC: of(undefined, -70, -7, 20, 150, 300),
    plateLeakWPerK: of(0, 0.4, 20),
    leadsOhm: of(0, 0.02, 2),
    supplyLimitA: of(undefined, 0, 1, 10),
  })
  .map(({ series, parallel, radiatorKPerW, isSlowed, constantsAtC, supplyLimitA, ...rest }) => {
    const best = { dutyPct: 100, resistanceKPerW: radiatorKPerW }
    return {
      ...plate,
      ...rest,
      modules: series * parallel,
      wiringSeries: series,
      wiringParallel: parallel,
      radiator: isSlowed ? [{ dutyPct: 20, resistanceKPerW: 0.09 }, best] : [best],
      ...(constantsAtC === undefined ? {} : { constantsAtC }),
      ...(supplyLimitA === undefined ? {} : { supplyLimitA }),
    }
  })

const drives: fc.Arbitrary<Drive> = fc.oneof(
  of<Drive>({ kind: 'full' }, { kind: 'off' }),
  of(0, 3, 90).map((currentA): Drive => ({ kind: 'fixed', currentA })),
  of(0, 1, 12, 48).map((voltageV): Drive => ({ kind: 'supply', voltageV })),
  of(0.01, 0.5, 1).map((dutyShare): Drive => ({ kind: 'pulsed', dutyShare })),
  of(0, 3, 40).map((marginK): Drive => ({ kind: 'dew', marginK })),
  of(-100, 0, 25, 90, 300).map((temperatureC): Drive => ({ kind: 'hold', temperatureC })),
)

const loads: readonly Load[] = [work, { kind: 'idle' }, { kind: 'off' }]

describe('a plate with any values that can be written', () => {
  it('has a prediction whose figures are numbers or null', () => {
    fc.assert(
      fc.property(slips, drives, fans, corners, (cooler, drive, fan, corner) => {
        const bench = benchWith({ cooler, profile: { drive, fan } })
        for (const load of loads) {
          const unlike: string[] = []
          JSON.stringify(settle(bench, load, corner), (key, value) => {
            if (typeof value === 'number' && !Number.isFinite(value)) unlike.push(`${load.kind}: ${key} ${value}`)
            return value
          })
          expect(unlike).toEqual([])
        }
      }),
      { numRuns: 500 },
    )
  })
})
