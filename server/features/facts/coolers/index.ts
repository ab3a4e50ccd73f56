/** The hover of each kind of cooler. */
import type { Cooler } from '../../../model/types.ts'
import { chilled } from './chilled.ts'
import type { CoolerHover } from './kind.ts'
import { radiating } from './radiating.ts'
import { thermoelectric } from './thermoelectric.ts'

export { warmingText } from './kind.ts'

const hovers: Readonly<Record<Cooler['kind'], CoolerHover>> = {
  air: radiating,
  loop: radiating,
  chilled,
  thermoelectric,
}

export function coolerHover({ kind }: Cooler): CoolerHover {
  return hovers[kind]
}
