/** The entry sheet: what to enter, and the forms it is shown in. */
export { profileIn, sheetFor } from './for-profile.ts'
export { sheetHtml } from './html.ts'
export { sheetMarkdown } from './markdown.ts'
export type * from './types.ts'
export * as sheetWords from './words.ts'
