import type { Bench, Settled } from '../../model/types.ts'
import { drivenPlate } from '../../semantic/coolers/index.ts'
import type { ExpectedFigure } from '../../semantic/expectations.ts'
import type { Prediction } from '../../semantic/predict.ts'
import { clock, current, difference, percent, plain, power, quantity, ratio, temperature, voltage } from '../figures.ts'

/** Figures worked out as a person would by hand: the formula, then the inputs of one prediction. */

/** Whether every figure is that of one ratio; otherwise they are means over the time at two. */
function isSteady({ shareHigh }: Settled): boolean {
  return shareHigh === null || shareHigh === 1
}

/** `190 W = 151 W switching (cores · activity · C · V² · f = …) + 25.0 W leakage + 14 W shared`. */
export function powerLine({ part }: Bench, { load: { load }, settled }: Prediction): string | undefined {
  const { powerW, dynamicW, leakageW, voltageV, clockMhz } = settled
  if (powerW === null) return undefined
  if (load.kind !== 'work' || dynamicW === null || leakageW === null) {
    return load.kind === 'idle' ? `power = idle power ${power(powerW)}` : undefined
  }
  const inputs = isSteady(settled)
    ? ` = ${load.cores} · ${plain(load.activity)} · ${plain(part.switchingNf)} nF · (${voltage(voltageV)})² · ${clock(clockMhz)}`
    : ''
  return `power ${power(powerW)} = switching ${power(dynamicW)} (cores · activity · C · V² · f${inputs}) + leakage ${power(leakageW)} + shared ${power(part.sharedPowerW)}`
}

/** Thermal resistances in series. */
export function dieLine({ part }: Bench, { load: { load }, settled }: Prediction): string | undefined {
  const { dieC, plateC, powerW, dynamicW } = settled
  if (dieC === null || plateC === null || powerW === null) return undefined
  const shared = `plate ${temperature(plateC)} + package ${plain(part.packageResistanceKPerW)} K/W · ${power(powerW)}`
  const own =
    load.kind === 'work' && dynamicW !== null
      ? ` + core ${plain(part.coreResistanceKPerW)} K/W · ${power(dynamicW)} / ${load.cores}`
      : ''
  return `die ${temperature(dieC)} = ${shared}${own}`
}

function electricLine({ board }: Bench, { settled }: Prediction): string | undefined {
  const { currentA, voltageV, setV, dynamicW, leakageW } = settled
  if (currentA === null || dynamicW === null || leakageW === null || !isSteady(settled)) return undefined
  const drop =
    board.loadLineOhm === 0
      ? ''
      : `; die voltage ${voltage(voltageV)} = set ${voltage(setV)} - load line ${plain(board.loadLineOhm * 1000)} mΩ · ${current(currentA)}`
  return `current ${current(currentA)} = (switching + leakage) / die voltage = (${power(dynamicW)} + ${power(leakageW)}) / ${voltage(voltageV)}${drop}`
}

function dewLine({ corner, settled }: Prediction): string | undefined {
  const { plateC, wetC } = settled
  if (plateC === null) return undefined
  const name = wetC < 0 ? 'frost point' : 'dew point'
  return `${difference(plateC - wetC)} = plate ${temperature(plateC)} - ${name} ${temperature(wetC)} (Magnus form, from ${plain(corner.airC)} °C and ${percent(corner.humidityPct)})`
}

function driveLine({ cooler }: Bench, { settled }: Prediction): string | undefined {
  const { driveA, driveW, plateC, notes } = settled
  const plate = drivenPlate(cooler)
  if (plate === undefined || driveA === null || plateC === null || notes.hotC === null) return undefined
  const { modules, seebeckVPerK, resistanceOhm } = plate
  return `drive power ${power(driveW)} = modules · (α · i · (hot - cold) + i² · R) = ${plain(modules)} · (${quantity(seebeckVPerK * 1000, 'mV/K')} · ${current(driveA)} · ${difference(notes.hotC - plateC)} + (${current(driveA)})² · ${quantity(resistanceOhm, 'Ω')})`
}

/** That the electrical figures are means, where the clock alternates. */
export function meansLine({ settled }: Prediction): string | undefined {
  const { ratioHigh, ratioLow, shareHigh } = settled
  if (isSteady(settled) || shareHigh === null) return undefined
  return `${percent(shareHigh * 100)} of the time at ${ratio(ratioHigh)}, the rest at ${ratio(ratioLow)}: all figures are means over both`
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
      case 'plate':
      case 'coolant':
        return [powerLine(bench, prediction), driveLine(bench, prediction)]
    }
  }
  return lines().filter(line => line !== undefined)
}
