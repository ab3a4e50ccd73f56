/** The door of the wording for those who come through the façade. */
export * from './cells.ts'
export * from './counts.ts'
export * from './figures.ts'
export * from './limiters.ts'
export * from './missing.ts'
export * from './places.ts'
export * from './times.ts'
export * from './visible.ts'
