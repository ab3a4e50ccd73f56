/** The door of planning: the search for steps and bands. */
export { planSteps } from './plan.ts'
export type {
  Case,
  DecidedBy,
  Failure,
  Judge,
  Link,
  NoPlan,
  Plan,
  PlannedRow,
  Verdict,
} from './types.ts'
