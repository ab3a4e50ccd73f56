/**
 * The plain numbers that go into the model and the plain numbers that come out.
 * Nothing here knows of text, trees or editors; units stand in the names.
 */

/** A row of the measured table: the lowest stable die voltage at a ratio. */
export interface VoltageRow {
  readonly ratio: number
  readonly voltageV: number
}

/** What cores of one kind have of their own (model sections 1 to 4). A plain part is a part of one such group. */
export interface CoreGroup {
  readonly cores: number
  readonly ratioLow: number
  readonly ratioHigh: number
  /** Sorted by rising ratio, at least one row. */
  readonly needs: readonly VoltageRow[]
  readonly needsAtC: number
  readonly needsSlopeVPerK: number
  readonly vectorNeedsV: number
  readonly switchingNf: number
  /** Leakage of all cores of the group, active or not. */
  readonly leakageW: number
  readonly leakageAtV: number
  readonly leakageAtC: number
  readonly coreResistanceKPerW: number
}

/** One of several groups of a part. */
export interface NamedGroup extends CoreGroup {
  readonly name: string
  /** The supply rail that it is on; groups with the same name here share one voltage. */
  readonly rail: string
}

/**
 * One processor sample (model section 1 to 4). Of a part with `groups` what stands here of a group's own is the first
 * one's, but for `cores` and `leakageW`, which are those of all; the model reads the groups.
 */
export interface Part extends CoreGroup {
  readonly referenceGhz: number
  readonly ratioStep: number
  readonly dieLimitC: number
  /** Absent: die ceiling of the profile + 10 K (section 10). */
  readonly tripC?: number
  readonly leakageDoublingK: number
  readonly leakageExponent: number
  readonly sharedPowerW: number
  readonly idlePowerW: number
  readonly packageResistanceKPerW: number
  readonly dieHeatJPerK: number
  /** Kinds of cores in the part's order; absent where all are alike. */
  readonly groups?: readonly NamedGroup[]
}

export interface RadiatorPoint {
  readonly dutyPct: number
  readonly resistanceKPerW: number
}

export interface LoopCooler {
  readonly kind: 'loop' | 'air'
  readonly blockResistanceKPerW: number
  /** One point (constant) or two (power law), sorted by rising duty. */
  readonly radiator: readonly RadiatorPoint[]
  readonly plateHeatJPerK: number
  readonly coolantHeatJPerK: number
  readonly ratingW?: number
}

export interface ChilledCooler {
  readonly kind: 'chilled'
  readonly coolantC: number
  readonly capacityW: number
  readonly beyondKPerW: number
  readonly blockResistanceKPerW: number
  readonly plateHeatJPerK: number
  readonly ratingW?: number
}

export interface ThermoelectricCooler {
  readonly kind: 'thermoelectric'
  readonly modules: number
  /** Per module: Seebeck coefficient α, electrical resistance R, thermal conductance K. */
  readonly seebeckVPerK: number
  readonly resistanceOhm: number
  readonly conductanceWPerK: number
  /**
   * Mean of hot and cold side at which α, R and K hold; at another mean they scale like bismuth telluride. Drawn from
   * a datasheet: `meanC` of `moduleFromDatasheet`. Absent: they stay constant at every temperature.
   */
  readonly constantsAtC?: number
  /** Heat that reaches the plate from the air by other ways than the load, per kelvin between them; absent: 0. */
  readonly plateLeakWPerK?: number
  /** Most direct current through one module. */
  readonly driveCurrentA: number
  /** How the modules are wired to the supply: so many in series and so many of those rows in parallel; absent: all in series. */
  readonly wiringSeries?: number
  readonly wiringParallel?: number
  /** Resistance of the leads between supply and modules; absent: 0. */
  readonly leadsOhm?: number
  /** Most current that the supply gives to all rows together; absent: no such limit. */
  readonly supplyLimitA?: number
  readonly driveWhenOff: boolean
  /** The current goes to what the drive asks for with this first-order lag over time; absent: 0, at once. */
  readonly driveLagS?: number
  readonly blockResistanceKPerW: number
  readonly radiator: readonly RadiatorPoint[]
  readonly plateHeatJPerK: number
  readonly coolantHeatJPerK: number
  readonly ratingW?: number
}

export type Cooler = LoopCooler | ChilledCooler | ThermoelectricCooler

export interface StepRow {
  readonly fromCores: number
  readonly toCores: number
  readonly ratio: number
}

export interface BandRow {
  readonly fromCores: number
  readonly toCores: number
  readonly aboveC: number
  /** Ratio given back, counted from the step; positive. */
  readonly drop: number
}

export type CoreVoltage =
  | { readonly kind: 'fixed'; readonly voltageV: number }
  | {
      readonly kind: 'needs'
      readonly offsetV: number
      /** Sorted by rising ratio; values entered as they stand. */
      readonly set: readonly VoltageRow[]
    }

/** How a profile drives the modules of a thermoelectric plate (model section 5, `drive`). */
export type Drive =
  | { readonly kind: 'full' }
  /** The same current through each module always. */
  | { readonly kind: 'fixed'; readonly currentA: number }
  /** A supply that keeps its voltage: the current follows from the modules' temperatures. */
  | { readonly kind: 'supply'; readonly voltageV: number }
  /** The full current for this share (0 to 1) of the time, fast against everything thermal. */
  | { readonly kind: 'pulsed'; readonly dutyShare: number }
  | { readonly kind: 'off' }
  | { readonly kind: 'dew'; readonly marginK: number }
  | { readonly kind: 'hold'; readonly temperatureC: number }

export interface FanPoint {
  readonly coolantC: number
  readonly dutyPct: number
}

export interface Limits {
  readonly dieC?: number
  readonly sustainedPowerW?: number
  /** Time constant of the sustained-power average (section 10). */
  readonly sustainedOverS?: number
  readonly burstPowerW?: number
  /** Of each supply rail that has none of its own in `railCurrentA`. */
  readonly currentA?: number
  readonly railCurrentA?: Readonly<Record<string, number>>
}

/** What a profile sets for one group of cores. */
export interface GroupSettings {
  readonly steps: readonly StepRow[]
  readonly bands: readonly BandRow[]
  /** `bands return 3 K`: a band is left this many kelvin below its threshold. */
  readonly returnK: number
  /** Ratio given back under vector loads; positive. */
  readonly vectorDrop: number
  readonly voltage: CoreVoltage
}

/** What is set for a group stands here where the part is plain, and for the first group where it has several. */
export interface Profile extends GroupSettings {
  /** In the order of the part's groups; absent where all cores are alike. */
  readonly groups?: readonly GroupSettings[]
  readonly limits: Limits
  readonly drive: Drive
  /** By coolant temperature, sorted; empty means 100 %. */
  readonly fan: readonly FanPoint[]
}

export interface Board {
  readonly coreVoltageStepV?: number
  readonly loadLineOhm: number
  /** Supply rails that have a step or a load line of their own, by their names. */
  readonly rails?: Readonly<Record<string, { readonly coreVoltageStepV?: number; readonly loadLineOhm?: number }>>
  readonly supplyW?: number
  readonly otherPowerW: number
}

/** What a load asks of one group of cores; idle with none. */
export interface GroupLoad {
  readonly cores: number
  readonly activity: number
}

/** A load with one core count (a load over a range of counts is several of these). */
export type Load =
  | {
      readonly kind: 'work'
      /** Of all groups together. */
      readonly cores: number
      readonly activity: number
      /** In the order of the part's groups; absent: they are filled in that order, each to its last core. */
      readonly groups?: readonly GroupLoad[]
      readonly vector: boolean
      /** The hottest core's own rise over the mean core's, at least 1; absent: 1 (model section 4). */
      readonly uneven?: number
    }
  | { readonly kind: 'idle' }
  | { readonly kind: 'off' }

/** One corner of a room. */
export interface Corner {
  readonly airC: number
  readonly humidityPct: number
}

/** Everything that one prediction needs. */
export interface Bench {
  readonly part: Part
  readonly cooler: Cooler
  readonly profile: Profile
  readonly board: Board
}

export type State = 'steady' | 'alternating' | 'throttled' | 'over-limit' | 'runaway'
export type Limiter = 'step' | 'band' | 'vector' | 'sustained-power' | 'burst-power' | 'current' | 'die-limit' | 'none'

/** What one group of cores does under a load. Where it is idle, only voltages, leakage and current exist. */
export interface SettledGroup {
  readonly group: string
  readonly cores: number
  readonly ratio: number | null
  readonly ratioLow: number | null
  readonly ratioHigh: number | null
  readonly clockMhz: number | null
  /** Voltages and current are those of the group's supply rail. */
  readonly setV: number | null
  readonly voltageV: number | null
  readonly needV: number | null
  readonly dynamicW: number | null
  readonly leakageW: number | null
  readonly currentA: number | null
  /** The hottest core of the group; `dieC` is that of all. */
  readonly coreC: number | null
}

/**
 * What a load settles at in one corner (section 7 and the output contract).
 * Figures that do not exist are null. Of a part with groups ratios, clock, voltages and current are those of the first
 * group that has active cores.
 */
export interface Settled {
  readonly state: State
  readonly limiter: Limiter
  /** In the part's order; absent where all cores are alike. */
  readonly groups?: readonly SettledGroup[]
  /** Mean clock over reference. */
  readonly ratio: number | null
  readonly ratioLow: number | null
  readonly ratioHigh: number | null
  /** Share of time at the faster ratio; 1 when steady. */
  readonly shareHigh: number | null
  readonly clockMhz: number | null
  readonly setV: number | null
  readonly voltageV: number | null
  readonly needV: number | null
  readonly powerW: number | null
  readonly dynamicW: number | null
  readonly leakageW: number | null
  readonly currentA: number | null
  readonly dieC: number | null
  readonly plateC: number | null
  readonly coolantC: number | null
  readonly fanPct: number | null
  readonly driveA: number | null
  readonly driveW: number | null
  /** At the supply of the plate while its current flows, leads included. */
  readonly driveV: number | null
  readonly wetC: number
  /** Largest constant heat that could be added with a balance still at or below the die ceiling (section 9). */
  readonly marginW: number | null
  /** Things a check wants to know and the output contract does not print. */
  readonly notes: SettledNotes
}

/** What a load settles at without its margin, which takes about as long to find as all the rest. */
export type SettledState = Omit<Settled, 'marginW'>

/** The figures alone, without what a check wants to know of them. */
export type SettledFigures = Omit<SettledState, 'notes'>

/** What a check, a hover or a sheet wants to know of a thermoelectric plate at the settled heat. */
export interface PlateNotes {
  /** Current through one module while it flows: the height of pulses, `driveA` being their mean. `coldestA` compares with it. */
  readonly flowingA: number
  /** What keeps a constant voltage from driving the current that it asks for; `none` under every other drive. */
  readonly boundBy: 'none' | 'no-current' | 'drive-current' | 'supply-limit'
  /** Target of `dew` or `hold` in this corner; null where the drive has none. */
  readonly targetC: number | null
  /** A target is set and the plate stays warmer than it (by more than 1e-6 K). */
  readonly isTargetMissed: boolean
  /** What all rows of modules together draw from the supply while the current flows, and the voltage that takes, leads included. */
  readonly supplyA: number
  readonly supplyV: number
  /** Part of `driveW` that the leads take: counted under `supply` alone. */
  readonly leadsW: number
  /** Heat from the air into the plate by `plateLeakWPerK`; negative where the plate is warmer than the air. */
  readonly leakW: number
  /** Mean of plate and hot side, and one module's constants there. */
  readonly meanC: number
  readonly seebeckVPerK: number
  readonly resistanceOhm: number
  readonly conductanceWPerK: number
  /** Plate temperature under smooth current of the same mean: colder than under pulses, the same under every other drive. */
  readonly smoothPlateC: number
}

export interface SettledNotes {
  /** dRHS/dT at the balance (section 9, `runaway-near`); null where no balance exists. */
  readonly slope: number | null
  /** Highest level temperature threshold that ended in alternation: the temperature and the two levels' ratios. */
  readonly alternatesAtC: number | null
  /** No ratio kept within `sustained-power` (section 8, `sustained-over`). */
  readonly sustainedOver: boolean
  /** The lowest ratio is still over `current` or `burst-power` (section 8, `current-over`). */
  readonly currentOver: boolean
  /** The fan duty fell below the radiator's lowest point (section 5, `fan-below-data`). */
  readonly fanBelowData: boolean
  /** A set voltage was asked for above the last row of the voltage table (section 2, `needs-short`). */
  readonly needsShort: boolean
  /** Hot-side temperature of the thermoelectric modules; null elsewhere. */
  readonly hotC: number | null
  /** Current in [0, drive-current] at which the plate would be coldest at this heat; null elsewhere. */
  readonly coldestA: number | null
  /** Plate temperature at `coldestA`. */
  readonly coldestPlateC: number | null
  /** What a thermoelectric plate does beyond that; null for every other cooler, and where nothing is steady. */
  readonly plate: PlateNotes | null
  /**
   * For alternating results: die voltage and need at each of the two ratios, faster first. One entry when steady. Of a
   * part with groups those of the first that has active cores.
   */
  readonly voltages: readonly VoltageNote[]
  /** The same for each group, in the part's order; absent where all cores are alike. */
  readonly groups?: readonly GroupNotes[]
}

/** What one ratio is given and needs. */
export interface VoltageNote {
  readonly ratio: number
  readonly setV: number
  readonly voltageV: number
  readonly needV: number
}

/** What a check wants to know of one group of cores. */
export interface GroupNotes {
  /** Empty where the group is idle. */
  readonly voltages: readonly VoltageNote[]
  /** What lowers this group; `step` where nothing does, `none` where it is idle. */
  readonly limiter: Limiter
}
