/**
 * The numeric model: plain numbers in, plain numbers out.
 *
 * Deliberately absent: ageing, altitude and the flow of a coolant as numbers of their own (they are in the constants that
 * were measured), and any value that depends on the time of day, on chance without a seed, or on a run before.
 */

export * from './balance.ts'
export * from './cooler/curve.ts'
export * from './cooler/faults.ts'
export * from './cooler/index.ts'

export * from './cooler/thermoelectric/module.ts'
export * from './cooler/thermoelectric/module-figures.ts'
export * from './draws.ts'
export * from './fan.ts'
export * from './groups.ts'
export * from './humidity.ts'
export * from './ladder.ts'
export * from './limits.ts'
export * from './loads.ts'
export * from './margin.ts'
export * from './power.ts'
export * from './prepare.ts'
export * from './random.ts'
export * from './ratio.ts'
export * from './ratio-source.ts'
export * from './settle.ts'
export * from './shapes.ts'
export * from './slices.ts'
export * from './source.ts'
export * from './transient/alternation.ts'
export type { ClockOverTime } from './transient/clock.ts'
export * from './transient/course.ts'
export * from './transient/course-types.ts'
export * from './transient/record.ts'
export * from './transient/simulate.ts'
export * from './types.ts'
export * from './uncertainty.ts'
export * from './voltage.ts'
