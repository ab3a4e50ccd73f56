/** Figures worked out as a person would by hand: the formula, then the inputs of one prediction. */

import { boardOfRail, groupLoads, isResting, isWork, type Work } from '../../model/index.ts'
import type { Bench, NamedGroup, Settled, SettledGroup } from '../../model/types.ts'
import { drivenPlate } from '../../semantic/coolers/index.ts'
import { shareOf } from '../../semantic/drives.ts'
import type { ExpectedFigure } from '../../semantic/expectations.ts'
import type { Prediction } from '../../semantic/predict.ts'
import { listed } from '../../wording/counts.ts'
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
import { ofGroupText } from '../../wording/places.ts'

/** A group that a load keeps busy: its constants, what is asked of it, what it comes to. */
interface Busy {
  readonly group: NamedGroup
  readonly activity: number
  readonly settled: SettledGroup
}

/** The groups that a load keeps busy, in the part's order; none where all cores are alike. */
function busyGroups({ part }: Bench, load: Work, { groups = [] }: Settled): readonly Busy[] {
  if (part.groups === undefined) return []
  const loads = groupLoads(part, load)
  return part.groups.flatMap((group, index) => {
    const settled = groups[index]
    const own = loads[index]
    return settled === undefined || own === undefined || own.cores === 0
      ? []
      : [{ group, activity: own.activity, settled }]
  })
}

/** Whether every figure is that of one ratio; otherwise they are means over the time at two. */
function isSteady({ shareHigh }: Settled): boolean {
  return shareHigh === null || shareHigh === 1
}

/** `190 W = 151 W switching (cores · activity · C · V² · f = …) + 25.0 W leakage + 14 W shared`. */
export function powerLine(bench: Bench, { load: { load }, settled }: Prediction): string | undefined {
  const { part } = bench
  const { powerW, dynamicW, leakageW, voltageV, clockMhz } = settled
  if (powerW === null) return undefined
  if (!isWork(load) || dynamicW === null || leakageW === null) {
    return isResting(load) ? `power = idle power ${powerText(powerW)}` : undefined
  }
  const groups = busyGroups(bench, load, settled)
  const switched = (cores: number, activity: number, nf: number, volts: number | null, clock: number | null): string =>
    `${cores} · ${plain(activity)} · ${plain(nf)} nF · (${voltageText(volts)})² · ${clockText(clock)}`
  const inputs = (): string => {
    if (!isSteady(settled)) return ''
    if (groups.length === 0) return ` = ${switched(load.cores, load.activity, part.switchingNf, voltageV, clockMhz)}`
    const each = groups.map(({ group, activity, settled: own }) => {
      return `${group.name} ${switched(own.cores, activity, group.switchingNf, own.voltageV, own.clockMhz)}`
    })
    return `: ${each.join(' + ')}`
  }
  return `power ${powerText(powerW)} = switching ${powerText(dynamicW)} (cores · activity · C · V² · f${inputs()}) + leakage ${powerText(leakageW)} + shared ${powerText(part.sharedPowerW)}`
}

function unevenText(uneven = 1): string {
  return uneven === 1 ? '' : ` · ${plain(uneven)} (the hottest core's share over the mean)`
}

/** Thermal resistances in series; of several groups, the one with the hottest core. */
export function dieLine(bench: Bench, { load: { load }, settled }: Prediction): string | undefined {
  const { part } = bench
  const { dieC, plateC, powerW, dynamicW } = settled
  if (dieC === null || plateC === null || powerW === null) return undefined
  const shared = `plate ${temperatureText(plateC)} + package ${plain(part.packageResistanceKPerW)} K/W · ${powerText(powerW)}`
  const core = (name: string, kPerW: number, watts: number, cores: number, uneven: number | undefined): string =>
    ` + core${name} ${plain(kPerW)} K/W${unevenText(uneven)} · ${powerText(watts)} / ${cores}`
  const own = (): string => {
    if (!isWork(load) || dynamicW === null) return ''
    const hot = busyGroups(bench, load, settled).reduce<Busy | undefined>(
      (most, one) => ((one.settled.coreC ?? 0) > (most?.settled.coreC ?? Number.NEGATIVE_INFINITY) ? one : most),
      undefined,
    )
    if (hot === undefined) return core('', part.coreResistanceKPerW, dynamicW, load.cores, load.uneven)
    const { group, settled: of } = hot
    return core(ofGroupText(group.name), group.coreResistanceKPerW, of.dynamicW ?? 0, of.cores, load.uneven)
  }
  return `die ${temperatureText(dieC)} = ${shared}${own()}`
}

/** Current and die voltage; on a part with groups of the supply rail of one of them. @param group absent: the first busy one */
function electricLine(bench: Bench, { settled }: Prediction, group?: string): string | undefined {
  if (!isSteady(settled)) return undefined
  const { part, board } = bench
  const { groups } = settled
  const lead = groups?.find(one => (group === undefined ? one.cores > 0 : one.group === group))
  const { currentA, voltageV, setV } = lead ?? settled
  const rail = part.groups?.find(({ name }) => name === lead?.group)?.rail
  const onRail = (part.groups ?? []).flatMap(({ name, rail: own }, index) => {
    const found = groups?.[index]
    return own === rail && found !== undefined ? [{ name, ...found }] : []
  })
  const sum = (figure: 'dynamicW' | 'leakageW'): number | null =>
    lead === undefined ? settled[figure] : onRail.reduce((all, one) => all + (one[figure] ?? 0), 0)
  const [dynamicW, leakageW] = [sum('dynamicW'), sum('leakageW')]
  if (currentA === null || dynamicW === null || leakageW === null) return undefined
  const { loadLineOhm } = rail === undefined ? board : boardOfRail(board, rail)
  const drop =
    loadLineOhm === 0
      ? ''
      : `; die voltage ${voltageText(voltageV)} = set ${voltageText(setV)} - load line ${plain(loadLineOhm * 1000)} mΩ · ${currentText(currentA)}`
  const isAll = onRail.length === (part.groups?.length ?? 0)
  const whose = isAll ? '' : ` of ${listed(onRail.map(({ name }) => name))}`
  return `current ${currentText(currentA)} = (switching + leakage)${whose} / die voltage = (${powerText(dynamicW)} + ${powerText(leakageW)}) / ${voltageText(voltageV)}${drop}`
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

/** The lines behind one figure of a prediction. @param group whose voltage and current they are */
export function workedLines(
  bench: Bench,
  prediction: Prediction,
  figure: ExpectedFigure,
  group?: string,
): readonly string[] {
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
        return [meansLine(prediction), electricLine(bench, prediction, group)]
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
