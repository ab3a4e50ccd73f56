/** The door of planning: the search for steps and bands. */
export { planGroups } from './groups.ts'
export type { GroupsJudge, MixedCase, Settings } from './groups-view.ts'
export { planSteps } from './plan.ts'
export type {
  BandReason,
  DecidedBy,
  Failure,
  Instead,
  Judge,
  Link,
  NoPlan,
  Plan,
  PlannedRow,
  Verdict,
} from './types.ts'
