/** Profiles side by side: predicted, measured, set. */
export { compareProfiles } from './compare.ts'
export { compareMarkdown } from './markdown.ts'
export { runsOfSide } from './run-sides.ts'
export type * from './types.ts'
export * as compareWords from './words.ts'
