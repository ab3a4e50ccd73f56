/** The kinds of cooler. A new one is its own file here, a line below, its rows in the vocabulary and its physics. */
import type { CoolerKind } from '../../../grammar/vocabulary/index.ts'
import type { Cooler, ThermoelectricCooler } from '../../model/types.ts'
import { chilled } from './chilled.ts'
import type { CoolerKindFacts } from './kind.ts'
import { air, loop } from './radiating.ts'
import { thermoelectric } from './thermoelectric.ts'

export type { CoolerKindFacts } from './kind.ts'

/** By the word after `kind`. A kind that only the language or only the model knows does not compile here. */
export const coolerKinds: Readonly<Record<CoolerKind | Cooler['kind'], CoolerKindFacts>> = {
  air,
  loop,
  chilled,
  thermoelectric,
}

/** What the kind of this cooler answers. */
export function kindOf({ kind }: Pick<Cooler, 'kind'>): CoolerKindFacts {
  return coolerKinds[kind]
}

/** Whether it can make a surface colder than the air, so that the dew point is of interest. */
export function runsCold(cooler: Cooler | undefined): boolean {
  return cooler !== undefined && kindOf(cooler).runsCold
}

/** The cooler as a plate of thermoelectric modules; undefined where there are none. */
export function drivenPlate(cooler: Cooler): ThermoelectricCooler | undefined {
  return kindOf(cooler).plateOf(cooler)
}
