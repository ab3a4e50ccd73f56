/** All that is uncertain of a load, heat capacities as well, which do not bear on what it settles at. */

import type { UncertainConstant } from '../../server/semantic/gather.ts'
import type { ProfileInput } from '../../server/semantic/input.ts'

export function uncertainConstants(input: ProfileInput, loadName: string): readonly UncertainConstant[] {
  return [...input.uncertain, ...(input.loadUncertain.get(loadName) ?? [])]
}
