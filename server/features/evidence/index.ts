/** What trials show of a part's voltages, for the editor and for the command. */
export { ledgerEdits, type PartLedger, partLedgers } from './for-part.ts'
export { evidenceLenses } from './lenses.ts'
export { evidenceMarkdown, nothingText } from './markdown.ts'
export { type NextTrials, nextTrials, noTrialText, type TrialProposal } from './next-trial.ts'
export * as nextWords from './next-words.ts'
export * as evidenceWords from './words.ts'
