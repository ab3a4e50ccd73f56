/** The part or the group of its cores that a check looks at, in words. */

import type { GroupView } from '../../semantic/group-view.ts'

/** `the part`, or `the group` of a part that has several kinds of cores. */
export function holderText({ group }: GroupView): string {
  return group === undefined ? 'the part' : 'the group'
}
