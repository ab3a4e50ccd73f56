/** Fits of a part's constants, for the editor and for the command. */
export { fitPart, partsAt } from './fit-part.ts'
export { fitMarkdown } from './markdown.ts'
export { partsOf } from './part-runs.ts'
export * as fitWords from './words.ts'
