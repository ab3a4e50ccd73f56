/** What small changes would do. */
export { changeText } from './changes.ts'
export { clockShares, type Differences, type Effect, effectsOf, measureNext } from './per.ts'
