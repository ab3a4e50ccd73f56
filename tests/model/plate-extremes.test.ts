import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { settle } from '../../server/model/settle.ts'
import type { Bench, Corner, Drive, Load, ThermoelectricCooler } from '../../server/model/types.ts'
import { benchWith, coolers, corners, fans, plate, work } from './benches.ts'

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

/** Figures of a prediction that are no number. */
function unlike(bench: Bench, load: Load, corner: Corner): readonly string[] {
  const found: string[] = []
  JSON.stringify(settle(bench, load, corner), (key, value) => {
    if (typeof value === 'number' && !Number.isFinite(value)) found.push(`${load.kind}: ${key} ${value}`)
    return value
  })
  return found
}

describe('a plate with any values that can be written', () => {
  it('has a prediction whose figures are numbers or null', () => {
    fc.assert(
      fc.property(slips, drives, fans, corners, (cooler, drive, fan, corner) => {
        const bench = benchWith({ cooler, profile: { drive, fan } })
        for (const load of loads) expect(unlike(bench, load, corner)).toEqual([])
      }),
      { numRuns: 500 },
    )
  })
})

describe('leakage that doubles within a hair’s breadth', () => {
  it('has a prediction whose figures are numbers or null, on any cooler', () => {
    const parts = fc.record({
      leakageDoublingK: of(1e-4, 0.002, 0.03, 0.5),
      leakageW: of(1, 16),
      leakageExponent: of(1, 1.5, 2, 3, 5),
    })
    fc.assert(
      fc.property(
        parts,
        coolers,
        drives,
        fans,
        of(0, 0.0005),
        corners,
        (part, cooler, drive, fan, loadLineOhm, corner) => {
          const bench = benchWith({ part, cooler, board: { loadLineOhm }, profile: { drive, fan } })
          expect(unlike(bench, work, corner)).toEqual([])
        },
      ),
      { numRuns: 300 },
    )
  })
})
