import {
  activeGroups,
  groupSettings,
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
import { groupViews } from '../../semantic/group-view.ts'
import type { Prediction } from '../../semantic/predict.ts'
import type { ResolvedProfile, Sourced } from '../../semantic/profile.ts'
import { type BandsRow, sameRatio } from '../../semantic/profile-values.ts'
import { ratioText, statedText, temperatureText } from '../../wording/figures.ts'
import { ofGroupText } from '../../wording/places.ts'
import { replaceFix } from '../support/edits.ts'
import { caseText, moreCases, rowOf, sameC } from '../support/ladder-facts.ts'
import { hasOwnPredictions, isOwn, settingPlace } from '../support/place.ts'
import type { Check, Fix } from '../types.ts'

type Asking = ReturnType<typeof activeGroups>[number]
type Level = ReturnType<typeof levelsIn>[number]

/** A band that, once entered, is not left again while the load lasts. */
export interface Latch {
  readonly prediction: Prediction
  readonly enteredC: number
  /** Where the die comes to rest at the band's ratio. */
  readonly restC: number
  /** Place in the part of the group of cores that the band lowers; of several the one with the largest return. 0 where all are alike. */
  readonly group: number
  /** How many of its cores are active. */
  readonly cores: number
  /** Its return. */
  readonly returnK: number
  /** Its ratio. */
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
  const active = activeGroups(bench.part, load.load)
  /** Whose band a level is, and its ratios there and before. */
  const banded = (
    at: number,
    before: readonly number[],
  ): Pick<Latch, 'group' | 'cores' | 'returnK' | 'ratio' | 'fasterRatio'> => {
    const { ratios, returnK } = levels[at] as Level
    const above = (levels[at - 1] as Level).ratios
    const isLowered = (own: number): boolean => (ratios[own] as number) < (above[own] as number) - sameRatio
    const isItsReturn = (own: number): boolean =>
      groupSettings(bench.profile, (active[own] as Asking).index).returnK === returnK
    const own = Math.max(
      0,
      active.findIndex((_, each) => isLowered(each) && isItsReturn(each)),
    )
    const { index: group, cores } = active[own] as Asking
    return { group, cores, returnK, ratio: ratios[own] as number, fasterRatio: before[own] as number }
  }
  const faster = levels[index - 1]
  // The band was entered at its threshold and has cooled, but not as far as its return.
  if (level.limiter === 'band' && faster !== undefined && dieC < level.enteredC - sameC) {
    const { enteredC } = level
    return { prediction, enteredC, restC: dieC, ...banded(index, faster.ratios), way: 'from-cold' }
  }
  const prepared = prepareBench(bench)
  const { curve } = prepareCorner(prepared, corner)
  const loaded = prepareLoad(prepared, load.load)
  for (const [at, next] of levels.entries()) {
    if (at <= index) continue
    const { enteredC } = next
    // A slower ratio rests cooler still: where the faster one lies below the return, so does the slower.
    if (next.limiter !== 'band' || dieC < enteredC - next.returnK) break
    const { source } = ratioSource(prepared, loaded, next.ratios)
    if (rhsC(source, curve, 0, enteredC) >= enteredC) continue
    const restC = highestRootBelow(source, curve, 0, enteredC, enteredC - next.returnK)
    if (restC === Number.NEGATIVE_INFINITY) continue
    return { prediction, enteredC, restC, ...banded(at, busy), way: 'after-warmth' }
  }
  return undefined
}

function messageOf(
  { prediction, enteredC, restC, returnK, ratio, fasterRatio, way }: Latch,
  group: string | undefined,
  cases: number,
): string {
  const back = statedText(enteredC - returnK, '°C')
  const rest = temperatureText(restC)
  const where = `${caseText(prediction)}${moreCases(cases)}`
  const remedy = `Choose a return of less than ${statedText(Math.floor((enteredC - restC) * 10) / 10, 'K')}, or a deeper band.`
  if (way === 'from-cold') {
    return `Clock${ofGroupText(group)} does not come back to ${ratioText(fasterRatio)}: ${where}. The band is entered at ${statedText(enteredC, '°C')}; at ${ratioText(ratio)} the die then rests at ${rest}, not below ${back}, where the band is left. That lasts as long as the load. ${remedy}`
  }
  return `Clock${ofGroupText(group)} may not come back to ${ratioText(fasterRatio)}: ${where}. From cold ${ratioText(fasterRatio)} holds; once something has warmed the die past ${statedText(enteredC, '°C')}, it rests at ${rest} with ${ratioText(ratio)}, not below ${back}, where the band is left. ${remedy}`
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

/** The fix that narrows the return of a table which the profile states itself. */
function narrowed(
  profile: ResolvedProfile,
  bands: Sourced | undefined,
  narrowest: ReadonlyMap<Sourced['match'], number>,
): readonly Fix[] {
  const stated = bands && quantity(bands.match, 'return')
  const mostK = bands && narrowest.get(bands.match)
  if (bands === undefined || stated === undefined || mostK === undefined || !isOwn(profile, bands)) return []
  const text = statedText(Math.max(0, Math.floor((mostK - sameC) * 10) / 10), 'K')
  const at = { chunk: bands.definition.chunk, start: stated.start, end: stated.end }
  return [replaceFix(`Narrow the return to ${text}`, at, text)]
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
    if (bench === undefined || !hasOwnPredictions(profile)) return
    const views = groupViews(profile)
    if (views.every((_, index) => groupSettings(bench.profile, index).returnK <= 0)) return
    const groups = new Map<BandsRow['sourced']['match'], Group>()
    /** The least return that any case leaves, by the table that states it. */
    const narrowest = new Map<Sourced['match'], number>()
    for (const prediction of predictions) {
      const latch = latchOf(bench, prediction)
      const view = latch && views[latch.group]
      const row = view && rowOf(view, latch.cores, latch.enteredC)
      if (latch === undefined || row === undefined) continue
      const table = view?.key('bands')?.match
      if (table !== undefined)
        narrowest.set(table, Math.min(narrowest.get(table) ?? latch.returnK, latch.enteredC - latch.restC))
      const key = row.sourced.match
      const before = groups.get(key)
      const shown = before === undefined || isWorse(latch, before.shown) ? latch : before.shown
      groups.set(key, { row, shown, cases: (before?.cases ?? 0) + 1 })
    }
    for (const { row, shown, cases } of groups.values()) {
      const view = views[shown.group]
      const fixes = narrowed(profile, view?.key('bands'), narrowest)
      yield {
        at: settingPlace(profile, row.sourced),
        ...(shown.way === 'after-warmth' ? { severity: 'information' as const } : {}),
        ...(view?.group !== undefined && { group: view.group }),
        message: messageOf(shown, view?.group, cases),
        load: shown.prediction.load.name,
        ...(fixes.length > 0 ? { fixes } : {}),
      }
    }
  },
}
