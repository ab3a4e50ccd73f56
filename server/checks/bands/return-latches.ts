import {
  highestRootBelow,
  isWork,
  levelsIn,
  prepareBench,
  prepareCorner,
  prepareLoad,
  ratioSource,
  rhsC,
} from '../../model/index.ts'
import type { Bench } from '../../model/types.ts'
import { quantity } from '../../semantic/definitions.ts'
import type { Prediction } from '../../semantic/predict.ts'
import { type BandsRow, sameRatio } from '../../semantic/profile-values.ts'
import { ratioText, statedText, temperatureText } from '../../wording/figures.ts'
import { replaceFix } from '../support/edits.ts'
import { caseText, moreCases, rowOf, sameC } from '../support/ladder-facts.ts'
import { hasOwnPredictions, isOwn, settingPlace } from '../support/place.ts'
import type { Check, Fix } from '../types.ts'

/** A band that, once entered, is not left again while the load lasts. */
export interface Latch {
  readonly prediction: Prediction
  readonly enteredC: number
  /** Where the die comes to rest at the band's ratio. */
  readonly restC: number
  readonly ratio: number
  /** The ratio that it does not come back to. */
  readonly fasterRatio: number
  /** From cold the load enters the band by itself; otherwise only something warmer before it can have. */
  readonly way: 'from-cold' | 'after-warmth'
}

/** The band that a settled load does not come back from; undefined where it comes back from all. */
export function latchOf(bench: Bench, prediction: Prediction): Latch | undefined {
  const { load, corner, settled } = prediction
  const { dieC, ratio } = settled
  if (!isWork(load.load) || settled.state !== 'steady' || dieC === null || ratio === null) return undefined
  const levels = levelsIn(bench, load.load, corner)
  // Several levels may share the ratio of the first group.
  const busy = settled.groups?.flatMap(own => own.ratio ?? []) ?? [ratio]
  const index = levels.findIndex(({ ratios }) =>
    ratios.every((own, at) => Math.abs(own - (busy[at] as number)) <= sameRatio),
  )
  const level = levels[index]
  if (level === undefined) return undefined
  const faster = levels[index - 1]
  // The band was entered at its threshold and has cooled, but not as far as its return.
  if (level.limiter === 'band' && faster !== undefined && dieC < level.enteredC - sameC) {
    const { enteredC } = level
    return { prediction, enteredC, restC: dieC, ratio, fasterRatio: faster.ratio, way: 'from-cold' }
  }
  const prepared = prepareBench(bench)
  const { curve } = prepareCorner(prepared, corner)
  const loaded = prepareLoad(prepared, load.load)
  for (const next of levels.slice(index + 1)) {
    const { enteredC } = next
    // A slower ratio rests cooler still: where the faster one lies below the return, so does the slower.
    if (next.limiter !== 'band' || dieC < enteredC - next.returnK) break
    const { source } = ratioSource(prepared, loaded, next.ratios)
    if (rhsC(source, curve, 0, enteredC) >= enteredC) continue
    const restC = highestRootBelow(source, curve, 0, enteredC, enteredC - next.returnK)
    if (restC === Number.NEGATIVE_INFINITY) continue
    return { prediction, enteredC, restC, ratio: next.ratio, fasterRatio: ratio, way: 'after-warmth' }
  }
  return undefined
}

function messageOf(
  { prediction, enteredC, restC, ratio, fasterRatio, way }: Latch,
  returnK: number,
  cases: number,
): string {
  const back = statedText(enteredC - returnK, '°C')
  const rest = temperatureText(restC)
  const where = `${caseText(prediction)}${moreCases(cases)}`
  const remedy = `Choose a return of less than ${statedText(Math.floor((enteredC - restC) * 10) / 10, 'K')}, or a deeper band.`
  if (way === 'from-cold') {
    return `Clock does not come back to ${ratioText(fasterRatio)}: ${where}. The band is entered at ${statedText(enteredC, '°C')}; at ${ratioText(ratio)} the die then rests at ${rest}, not below ${back}, where the band is left. That lasts as long as the load. ${remedy}`
  }
  return `Clock may not come back to ${ratioText(fasterRatio)}: ${where}. From cold ${ratioText(fasterRatio)} holds; once something has warmed the die past ${statedText(enteredC, '°C')}, it rests at ${rest} with ${ratioText(ratio)}, not below ${back}, where the band is left. ${remedy}`
}

interface Group {
  readonly row: BandsRow
  readonly shown: Latch
  readonly cases: number
}

/** Of two ways the certain one is shown, and of two rests the one nearest to the threshold. */
function isWorse(a: Latch, b: Latch): boolean {
  if (a.way !== b.way) return a.way === 'from-cold'
  return a.enteredC - a.restC < b.enteredC - b.restC
}

export const returnLatches: Check = {
  code: 'return-latches',
  severity: 'warning',
  title: 'A band that is never left again',
  page: {
    what: 'A `return` so wide that a band, once entered, holds for as long as the load lasts. A band entered at τ is left below τ − return (model section 7). If the highest balance below τ at the band’s ratio lies at τ − return or above, the die comes to rest there and the faster ratio does not come back. Two ways lead there. From cold (warning): the faster ratio warms the die past τ by itself, the band is entered, and the die rests within the return. After warmth (information): from cold the faster ratio would hold with the die below τ, but a heavier load or a warmer hour before has brought the die past τ. Bands at the die limit have no return and are not judged; neither are loads that `sustained-power` holds.',
    why: 'The return is there to keep the clock from going back and forth. Too wide, it turns a drop meant for minutes into one for the evening, and a run after another load measures less than one from cold.',
    remedy:
      'Take a narrower return; the quick fix takes the widest, to a tenth of a kelvin, under which none of the loads stays in a band. Or let the band give back more, so that the die cools further.',
    example: 'bands return 12 K {\n  1 to 8 cores   above 62 °C  -1x\n}',
  },
  *inProfile({ profile, input, predictions }) {
    const { bench } = input
    if (bench === undefined || bench.profile.returnK <= 0 || !hasOwnPredictions(profile)) return
    const { returnK } = bench.profile
    const groups = new Map<number, Group>()
    let narrowest = returnK
    for (const prediction of predictions) {
      const latch = latchOf(bench, prediction)
      const { load } = prediction.load
      const row = latch && isWork(load) ? rowOf(profile, load.cores, latch.enteredC) : undefined
      if (latch === undefined || row === undefined) continue
      narrowest = Math.min(narrowest, latch.enteredC - latch.restC)
      const key = row.sourced.match.statement.start
      const before = groups.get(key)
      const shown = before === undefined || isWorse(latch, before.shown) ? latch : before.shown
      groups.set(key, { row, shown, cases: (before?.cases ?? 0) + 1 })
    }
    const bands = profile.key('bands')
    const stated = bands && quantity(bands.match, 'return')
    const fixes: Fix[] = []
    if (bands !== undefined && stated !== undefined && isOwn(profile, bands)) {
      const text = statedText(Math.max(0, Math.floor((narrowest - sameC) * 10) / 10), 'K')
      const at = { chunk: bands.definition.chunk, start: stated.start, end: stated.end }
      fixes.push(replaceFix(`Narrow the return to ${text}`, at, text))
    }
    for (const { row, shown, cases } of groups.values()) {
      yield {
        at: settingPlace(profile, row.sourced),
        ...(shown.way === 'after-warmth' ? { severity: 'information' as const } : {}),
        message: messageOf(shown, returnK, cases),
        load: shown.prediction.load.name,
        ...(fixes.length > 0 ? { fixes } : {}),
      }
    }
  },
}
