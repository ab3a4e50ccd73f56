/** What small changes would do. */
export { perMarkdown } from './markdown.ts'
export { type Differences, type PerProfile, perInSlices } from './per.ts'
export * as perWords from './words.ts'
