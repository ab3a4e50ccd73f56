/** What has changed since a revision, and what that does to each profile. */
export { sinceMarkdown, whatIfMarkdown } from './markdown.ts'
export { changesSince, isWorse } from './since.ts'
export type * from './types.ts'
export * as sinceWords from './words.ts'
