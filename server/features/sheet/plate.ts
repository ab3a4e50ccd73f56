/** What to set at the supply of a thermoelectric plate, for a supply that only has knobs: amperes or volts. */
import { coresOf, isResting } from '../../model/index.ts'
import { drivenPlate } from '../../semantic/coolers/index.ts'
import { shareOf, supplyV } from '../../semantic/drives.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import type { Prediction } from '../../semantic/predict.ts'
import { currentText, percentText, plain, quantityText, statedText } from '../../wording/figures.ts'
import { cornerText, loadText } from '../../wording/places.ts'
import type { SheetFact } from './types.ts'

/** What the supply gives at a prediction while current flows. */
interface Setting {
  readonly where: string
  readonly amperes: number
  readonly volts: number
}

function settingOf({ load, corner, settled }: Prediction): readonly Setting[] {
  const { plate } = settled.notes
  if (plate === null) return []
  const cores = coresOf(load.load)
  const where = `${loadText({ name: load.name, cores })} at ${cornerText(corner)}`
  return [{ where, amperes: plate.supplyA, volts: plate.supplyV }]
}

const least = (all: readonly Setting[], by: (one: Setting) => number): Setting | undefined =>
  all.reduce<Setting | undefined>((best, one) => (best === undefined || by(one) < by(best) ? one : best), undefined)

/** `4.20 A`, or `3.10 A to 4.20 A` where it is not the same everywhere. */
function span(all: readonly Setting[], of: (one: Setting) => number, write: (value: number) => string): string {
  const [low, high] = [Math.min(...all.map(of)), Math.max(...all.map(of))].map(write) as [string, string]
  return low === high ? low : `${low} to ${high}`
}

const amperes = ({ amperes: value }: Setting): number => value
const volts = ({ volts: value }: Setting): number => value
const amperesOf = (all: readonly Setting[]): string => span(all, amperes, currentText)
const voltsOf = (all: readonly Setting[]): string => span(all, volts, value => quantityText(value, 'V'))

/** Rounded down, so that nobody sets more than was predicted. */
const down = (value: number): string => plain(Math.floor(value * 100 + 1e-6) / 100)

/** What to set, and what the supply's own displays show then. Empty where no plate is driven. */
export function plateFacts({ input, predictions }: Evaluation): readonly SheetFact[] {
  const { bench } = input
  const plate = bench && drivenPlate(bench.cooler)
  const all = predictions.flatMap(settingOf)
  if (bench === undefined || plate === undefined || all.length === 0) return []
  const name = 'supply of the plate'
  const { drive } = bench.profile
  const limitA = Math.min(
    (plate.wiringParallel ?? 1) * plate.driveCurrentA,
    plate.supplyLimitA ?? Number.POSITIVE_INFINITY,
  )
  if (all.every(one => one.amperes === 0)) return [{ name, text: 'off' }]
  const keptV = supplyV(drive)
  if (keptV !== undefined) {
    const limit = `current limit ${statedText(limitA, 'A')}`
    return [{ name, text: `set ${statedText(keptV, 'V')}, ${limit}; it then gives ${amperesOf(all)}` }]
  }
  if (all.some(one => one.amperes !== all[0]?.amperes)) {
    const idle = predictions.filter(({ load }) => isResting(load.load)).flatMap(settingOf)
    const lowest = least(idle, amperes) ?? least(all, amperes)
    if (lowest === undefined) return []
    return [
      { name, text: `follows its target: ${amperesOf(all)}, ${voltsOf(all)}` },
      {
        name: 'with knobs alone',
        text: `set no more than ${down(lowest.amperes)} A (about ${down(lowest.volts)} V), what ${lowest.where} takes: more would cool the plate below its target there`,
      },
    ]
  }
  const share = shareOf(drive)
  const pulses = share === 1 ? '' : ` in pulses for ${percentText(100 * share)} of the time`
  const current = `set ${currentText(all[0]?.amperes ?? 0)}${pulses}`
  return [{ name, text: `${current}; it takes ${voltsOf(all)}, so let the voltage go that high` }]
}
