/** The numeric model: plain numbers in, plain numbers out. */

export * from './fan.ts'
export * from './humidity.ts'
export * from './power.ts'
export * from './thermoelectric.ts'
export * from './types.ts'
export * from './voltage.ts'
