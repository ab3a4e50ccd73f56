/** What the checks would find of one settled case at error or warning level, case by case, without their words. */

import { plateOverHot } from '../../checks/cooling/cooler-overload.ts'
import { excessA } from '../../checks/cooling/drive-excess.ts'
import { weakSupplyAt } from '../../checks/cooling/drive-short.ts'
import { nearSlope } from '../../checks/cooling/runaway-near.ts'
import { demandW } from '../../checks/limits/supply-short.ts'
import { wetness } from '../../checks/support/wet-surface.ts'
import type { Bench, SettledState } from '../../model/index.ts'
import type { DecidedBy } from '../../planning/index.ts'
import { drivenPlate, kindOf } from '../../semantic/coolers/index.ts'
import { limitRows } from '../../semantic/limiters.ts'
import { currentText, differenceText, fixed, powerText, statedText, temperatureText } from '../../wording/figures.ts'
import type { Air } from './cases.ts'

/** One finding of a case: its code, and the figure that makes it. */
export interface CaseFinding {
  readonly code: string
  /** Of the same case at its lowest ratio the same key is the same finding. */
  readonly key: string
  readonly by: DecidedBy
  readonly figure: string
  readonly value: number | null
  readonly allowed: number | null
  readonly unit: string
  readonly words: () => string
  readonly humidityPct?: number
}

/** @param isInsulated what is wet behind insulation is a hint */
export function findingsOf(
  bench: Bench,
  settled: SettledState,
  { wetC, humidityPct }: Air,
  isInsulated: boolean,
): readonly CaseFinding[] {
  const { notes, powerW, driveA } = settled
  const found: CaseFinding[] = []
  const note = (
    code: string,
    by: DecidedBy,
    [figure, value, allowed, unit]: readonly [string, number | null, number | null, string],
    words: () => string,
    more: Partial<CaseFinding> = {},
  ): void => {
    found.push({ code, key: code, by, figure, value, allowed, unit, words, ...more })
  }
  const { limits } = bench.profile
  if (notes.currentOver) {
    const over = limitRows(bench, 'current').find(row => (row.figureOf(settled) ?? 0) > row.value)
    const by = over === undefined ? 'burst-power' : 'current'
    const [figure, value, allowed, unit] =
      over === undefined
        ? (['power_w', powerW, limits.burstPowerW ?? null, 'W'] as const)
        : (['current_a', over.figureOf(settled), over.value, 'A'] as const)
    note('current-over', by, [figure, value, allowed, unit], () => `would be over \`${by}\` at every ratio`)
  }
  if (notes.sustainedOver) {
    const allowed = limits.sustainedPowerW ?? null
    note(
      'sustained-over',
      'sustained-power',
      ['power_w', powerW, allowed, 'W'],
      () => 'would keep the mean power at no ratio',
    )
  }
  const { supplyW } = bench.board
  const takenW = demandW(bench.board, settled)
  if (supplyW !== undefined && takenW > supplyW * (1 + 1e-6)) {
    const words = (): string => `would take ${powerText(takenW)} from a supply of ${statedText(supplyW, 'W')}`
    note('supply-short', 'supply', ['supply_w', takenW, supplyW, 'W'], words)
  }
  const { ratingW } = bench.cooler
  if (ratingW !== undefined && (powerW ?? 0) > ratingW * (1 + 1e-6)) {
    const words = (): string => `would put ${powerText(powerW)} into a cooler rated for ${statedText(ratingW, 'W')}`
    note('cooler-overload', 'die', ['power_w', powerW, ratingW, 'W'], words)
  }
  const overHotK = plateOverHot(settled)
  if (overHotK !== undefined) {
    const words = (): string => `would warm the plate ${differenceText(overHotK)} above its own hot side`
    const at = ['plate_c', settled.plateC, notes.hotC, '°C'] as const
    note('cooler-overload', 'die', at, words, { key: 'plate over hot' })
  }
  const { slope } = notes
  if (slope !== null && slope > nearSlope * (1 + 1e-6)) {
    const words = (): string =>
      `would be close to thermal runaway, with a slope of ${fixed(slope, 2)}, above ${nearSlope}`
    note('runaway-near', 'die', ['slope', slope, nearSlope, ''], words)
  }
  if (!isInsulated) {
    for (const [index, wet] of wetC.entries()) {
      const kind = wetness(bench, { ...settled, wetC: wet })
      if (kind === undefined) continue
      const code = kind === 'wet' ? 'condensation' : 'frost'
      const surfaceC = kindOf(bench.cooler).coldestSurface(settled)?.temperatureC ?? null
      const words = (): string =>
        `would cool a surface to ${temperatureText(surfaceC)}, with the wet point at ${temperatureText(wet)}`
      const humidity = humidityPct[index]
      note(code, 'dew', ['plate_c', surfaceC, wet, '°C'], words, {
        key: `${code} ${index}`,
        ...(humidity === undefined ? {} : { humidityPct: humidity }),
      })
    }
  }
  const plate = drivenPlate(bench.cooler)
  if (plate !== undefined && excessA(settled) !== undefined) {
    const words = (): string => `would drive the plate past its coldest current of ${currentText(notes.coldestA)}`
    note('drive-excess', 'die', ['drive_a', driveA, notes.coldestA, 'A'], words)
  }
  if (plate !== undefined && weakSupplyAt(bench, plate, { settled }) !== undefined)
    note(
      'drive-short',
      'supply',
      ['drive_a', driveA, null, 'A'],
      () => 'would ask more of the supply of the plate than it gives',
    )
  if (notes.fanBelowData)
    note(
      'fan-below-data',
      'die',
      ['fan_pct', settled.fanPct, null, '%'],
      () => 'would run the fan slower than was measured',
    )
  return found
}
