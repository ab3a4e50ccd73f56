/** The door of the proposals: steps and bands for a profile. */
export { acceptedCodes } from './accepted.ts'
export { nothingAsked, type ProposeOptions } from './asked.ts'
export { planEdits, unwritableText } from './edit.ts'
export { asksOfTrials, noProposalText, type Proposal, proposeInSlices } from './propose.ts'
export { bandRowsOf } from './rows.ts'
export * as proposeWords from './words.ts'
