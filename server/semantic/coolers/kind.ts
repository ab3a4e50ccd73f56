/** What every kind of cooler answers for itself, apart from its physics, which the model has. */
import type { Cooler, RadiatorPoint, Settled, ThermoelectricCooler } from '../../model/types.ts'
import type { Gathering } from '../gather.ts'

/** The constants that all kinds share. */
export type SharedConstants = Pick<Cooler, 'blockResistanceKPerW' | 'plateHeatJPerK' | 'ratingW'>

/** The surface that room air reaches and that is coldest. */
interface ColdestSurface {
  readonly name: 'plate' | 'coolant'
  readonly temperatureC: number
}

/**
 * A kind of cooler. Methods are asked with coolers of their own kind alone; `kindOf` in `index.ts` makes sure of that.
 */
export interface CoolerKindFacts<C extends Cooler = Cooler> {
  /** Whether its plate is driven by current, so that `drive` of a profile has something to do. */
  readonly isDriven: boolean
  /** Whether a fan cools it, so that `fan` of a profile has something to do; else why not, as a sentence of a finding. */
  readonly fan: 'cools' | { readonly idle: string }
  /** Whether it can make a surface colder than the air, so that the dew point is of interest. */
  readonly runsCold: boolean
  /** How the plate's temperature follows from the heat, in words. */
  readonly formula: string
  /** What a profile has a hand in, as the head of its figures. @param profile its name, in code marks */
  asSet(profile: string): string
  /** Caution for a sheet that is entered on such a bench; without it the settings' own are enough. */
  readonly caution?: string
  /** The definition's block as plain numbers. */
  read(gathering: Gathering, shared: SharedConstants): C
  /** The cooler as a plate of thermoelectric modules; undefined where there are none. */
  plateOf(cooler: C): ThermoelectricCooler | undefined
  /** The rows of its radiator; none where it has no radiator. */
  radiatorOf(cooler: C): readonly RadiatorPoint[]
  /** The cooler with each row of its radiator changed; the same where it has none. */
  withRows(cooler: C, change: (row: RadiatorPoint) => RadiatorPoint): C
  /** Undefined where nothing is steady. */
  coldestSurface(settled: Pick<Settled, 'plateC' | 'coolantC'>): ColdestSurface | undefined
  /** Resistance from plate to coolant, in K/W; undefined where more than a resistance stands between them. */
  plateToCoolantKPerW(cooler: C): number | undefined
  /** Resistance from plate to air, in K/W; undefined where more than a resistance stands between them. @param fanPct duty of the fan */
  plateToAirKPerW(cooler: C, fanPct: number): number | undefined
}
