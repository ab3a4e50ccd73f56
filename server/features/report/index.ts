/** The report of a bench: one page, or Markdown. */
export { reportMarkdown } from './blocks.ts'
export { reportPage } from './page.ts'
export { makeReport, reportProfiles } from './report.ts'
export type { Making } from './source.ts'
