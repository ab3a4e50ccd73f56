/** What it would take for an expectation to hold. */
export { ReachTrouble, reachInSlices } from './reach.ts'
export type { Reach, ReachAnswer, ReachChange } from './types.ts'
export * as reachWords from './words.ts'
