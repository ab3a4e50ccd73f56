/** Figures worked out as a person would by hand: the formula, then the inputs of one prediction. */

import { isResting, isWork } from '../../model/index.ts'
import type { Bench, Settled } from '../../model/types.ts'
import { drivenPlate } from '../../semantic/coolers/index.ts'
import { shareOf } from '../../semantic/drives.ts'
import type { ExpectedFigure } from '../../semantic/expectations.ts'
import type { Prediction } from '../../semantic/predict.ts'
import {
  clockText,
  currentText,
  differenceText,
  percentText,
  plain,
  powerText,
  quantityText,
  ratioText,
  temperatureText,
  voltageText,
} from '../../wording/figures.ts'

/** Whether every figure is that of one ratio; otherwise they are means over the time at two. */
function isSteady({ shareHigh }: Settled): boolean {
  return shareHigh === null || shareHigh === 1
}

/** `190 W = 151 W switching (cores · activity · C · V² · f = …) + 25.0 W leakage + 14 W shared`. */
export function powerLine({ part }: Bench, { load: { load }, settled }: Prediction): string | undefined {
  const { powerW, dynamicW, leakageW, voltageV, clockMhz } = settled
  if (powerW === null) return undefined
  if (!isWork(load) || dynamicW === null || leakageW === null) {
    return isResting(load) ? `power = idle power ${powerText(powerW)}` : undefined
  }
  const inputs = isSteady(settled)
    ? ` = ${load.cores} · ${plain(load.activity)} · ${plain(part.switchingNf)} nF · (${voltageText(voltageV)})² · ${clockText(clockMhz)}`
    : ''
  return `power ${powerText(powerW)} = switching ${powerText(dynamicW)} (cores · activity · C · V² · f${inputs}) + leakage ${powerText(leakageW)} + shared ${powerText(part.sharedPowerW)}`
}

function unevenText(uneven = 1): string {
  return uneven === 1 ? '' : ` · ${plain(uneven)} (the hottest core's share over the mean)`
}

/** Thermal resistances in series. */
export function dieLine({ part }: Bench, { load: { load }, settled }: Prediction): string | undefined {
  const { dieC, plateC, powerW, dynamicW } = settled
  if (dieC === null || plateC === null || powerW === null) return undefined
  const shared = `plate ${temperatureText(plateC)} + package ${plain(part.packageResistanceKPerW)} K/W · ${powerText(powerW)}`
  const own =
    isWork(load) && dynamicW !== null
      ? ` + core ${plain(part.coreResistanceKPerW)} K/W${unevenText(load.uneven)} · ${powerText(dynamicW)} / ${load.cores}`
      : ''
  return `die ${temperatureText(dieC)} = ${shared}${own}`
}

function electricLine({ board }: Bench, { settled }: Prediction): string | undefined {
  const { currentA, voltageV, setV, dynamicW, leakageW } = settled
  if (currentA === null || dynamicW === null || leakageW === null || !isSteady(settled)) return undefined
  const drop =
    board.loadLineOhm === 0
      ? ''
      : `; die voltage ${voltageText(voltageV)} = set ${voltageText(setV)} - load line ${plain(board.loadLineOhm * 1000)} mΩ · ${currentText(currentA)}`
  return `current ${currentText(currentA)} = (switching + leakage) / die voltage = (${powerText(dynamicW)} + ${powerText(leakageW)}) / ${voltageText(voltageV)}${drop}`
}

function dewLine({ corner, settled }: Prediction): string | undefined {
  const { plateC, wetC } = settled
  if (plateC === null) return undefined
  const name = wetC < 0 ? 'frost point' : 'dew point'
  return `${differenceText(plateC - wetC)} = plate ${temperatureText(plateC)} - ${name} ${temperatureText(wetC)} (Magnus form, from ${plain(corner.airC)} °C and ${percentText(corner.humidityPct)})`
}

function driveLine({ cooler, profile }: Bench, { settled }: Prediction): string | undefined {
  const { driveW, plateC, notes } = settled
  const cells = drivenPlate(cooler)
  if (cells === undefined || notes.plate === null || plateC === null || notes.hotC === null) return undefined
  const { flowingA, seebeckVPerK, resistanceOhm, leadsW, meanC } = notes.plate
  const share = shareOf(profile.drive)
  const [pulses, times] = share === 1 ? ['', ''] : ['share of time · ', `${plain(share)} · `]
  const [leads, more] = leadsW > 0 ? [' + leads', ` + ${powerText(leadsW)}`] : ['', '']
  const at = cells.constantsAtC === undefined ? '' : `; α and R at a mean of ${temperatureText(meanC)}`
  return `drive power ${powerText(driveW)} = modules · ${pulses}(α · i · (hot - cold) + i² · R)${leads} = ${plain(cells.modules)} · ${times}(${quantityText(seebeckVPerK * 1000, 'mV/K')} · ${currentText(flowingA)} · ${differenceText(notes.hotC - plateC)} + (${currentText(flowingA)})² · ${quantityText(resistanceOhm, 'Ω')})${more}${at}`
}

/** That the electrical figures are means, where the clock alternates. */
export function meansLine({ settled }: Prediction): string | undefined {
  const { ratioHigh, ratioLow, shareHigh } = settled
  if (isSteady(settled) || shareHigh === null) return undefined
  return `${percentText(shareHigh * 100)} of the time at ${ratioText(ratioHigh)}, the rest at ${ratioText(ratioLow)}: all figures are means over both`
}

/** The lines behind one figure of a prediction. */
export function workedLines(bench: Bench, prediction: Prediction, figure: ExpectedFigure): readonly string[] {
  const lines = (): readonly (string | undefined)[] => {
    switch (figure) {
      case 'clock':
        return [meansLine(prediction), powerLine(bench, prediction), dieLine(bench, prediction)]
      case 'die':
        return [dieLine(bench, prediction), powerLine(bench, prediction)]
      case 'power':
        return [meansLine(prediction), powerLine(bench, prediction)]
      case 'current':
      case 'voltage':
      case 'stable':
        return [meansLine(prediction), electricLine(bench, prediction)]
      case 'above-dew':
        return [dewLine(prediction), driveLine(bench, prediction)]
      case 'drive-power':
        return [driveLine(bench, prediction)]
      case 'margin':
        return [
          'margin = the largest constant heat that could be added with a balance still at or below the die limit',
          dieLine(bench, prediction),
        ]
      case 'trips':
        return []
      case 'plate':
      case 'coolant':
        return [powerLine(bench, prediction), driveLine(bench, prediction)]
    }
  }
  return lines().filter(line => line !== undefined)
}
