/** What statements that are written nowhere would change. */
export { fieldCompletions, fieldInFile } from './completion.ts'
export { askForCourses, coursesMarkdown } from './courses.ts'
export { overlayLines, type WhatIf, whatIf } from './effect.ts'
export { type FieldTrouble, inField, statementsOf } from './statements.ts'
