/** Hover of a module: its constants, what it can do at its best, and whether its datasheet figures agree. */

import {
  fromOtherFigures,
  HEAT_RATIO_TOLERANCE,
  type ModuleDatasheet,
  moduleFigures,
  moduleFromDatasheet,
} from '../../model/index.ts'
import type { ThermoelectricCooler } from '../../model/types.ts'
import { coolerConstants, moduleDatasheet } from '../../semantic/constants.ts'
import { drivenPlate } from '../../semantic/coolers/index.ts'
import type { Definition } from '../../semantic/definitions.ts'
import {
  currentText,
  differenceText,
  plain,
  powerText,
  quantityText,
  significant,
  temperatureText,
} from '../../wording/figures.ts'
import { list, paragraphs, table } from '../markdown.ts'
import { type Told, together, told } from './told.ts'

/** The hot side that modules without a datasheet are looked at with. */
const usualHotC = 27

/** Each of the four figures beside what the other three give. */
function sheetTold(sheet: ModuleDatasheet): Told {
  const others = fromOtherFigures(sheet)
  const rows = (
    [
      ['current', 'currentA', 'A'],
      ['voltage', 'voltageV', 'V'],
      ['heat', 'heatW', 'W'],
      ['difference', 'differenceK', 'K'],
    ] as const
  ).map(([word, field, unit]) => [
    word,
    `${plain(sheet[field])} ${unit}`,
    quantityText(others[field], unit),
    significant(sheet[field] / others[field], 3),
  ])
  const { heatRatio } = moduleFromDatasheet(sheet)
  const off = Math.abs(heatRatio - 1)
  const agrees =
    off <= HEAT_RATIO_TOLERANCE
      ? `The four agree: less than ${plain(HEAT_RATIO_TOLERANCE * 100)} % apart.`
      : `They contradict each other: the printed heat is ${significant(off * 100, 2)} % ${heatRatio > 1 ? 'more' : 'less'} than the other figures give, and predictions use the others.`
  return told({
    lines: [agrees],
    tables: [table(['Figure', 'Datasheet', 'From the other three', 'Ratio'], rows)],
    rest: ['Heat = voltage · current · (hot + difference) / (2 · hot), hot side in kelvin.'],
  })
}

function constantsText(cooler: ThermoelectricCooler, sheet: ModuleDatasheet | undefined): string {
  const { seebeckVPerK, resistanceOhm, conductanceWPerK, constantsAtC } = cooler
  const [seebeckFrom, resistanceFrom, conductanceFrom] =
    sheet === undefined
      ? ['', '', '']
      : [
          'voltage / hot = ',
          'voltage / current · (hot - difference) / hot = ',
          'voltage · current · (hot - difference) / (2 · hot · difference) = ',
        ]
  return paragraphs(
    sheet === undefined
      ? 'One module, as stated:'
      : `One module, from its datasheet figures (Lineykin and Ben-Yaakov 2007; hot side ${plain(sheet.hotC)} °C, in kelvin):`,
    list([
      `Seebeck coefficient α = ${seebeckFrom}${quantityText(seebeckVPerK * 1000, 'mV/K')}`,
      `resistance R = ${resistanceFrom}${quantityText(resistanceOhm, 'Ω')}`,
      `conductance K = ${conductanceFrom}${quantityText(conductanceWPerK, 'W/K')}`,
    ]),
    constantsAtC === undefined
      ? 'They count as the same at every temperature.'
      : `They hold at a mean of hot and cold side of ${temperatureText(constantsAtC)}; at another mean they change as those of bismuth telluride do.`,
  )
}

function bestText(cooler: ThermoelectricCooler, hotC: number): string {
  const best = moduleFigures(cooler, hotC)
  return paragraphs(
    `At its best, hot side ${plain(hotC)} °C (Kraus, Mechanical Engineers' Handbook):`,
    list([
      `figure of merit Z = α² / (R · K) = ${significant(best.meritPerK, 3)} /K; Z · hot = ${significant(best.meritAtHot, 3)}`,
      `largest difference, at no heat: Z · cold² / 2 = ${differenceText(best.differenceK)}, at α · cold / R = ${currentText(best.differenceA)}`,
      `most heat, at no difference: α² · hot² / (2 · R) = ${powerText(best.heatW)}, at α · hot / R = ${currentText(best.heatA)}`,
    ]),
  )
}

function sheetOf(definition: Definition): ModuleDatasheet | undefined {
  const given = moduleDatasheet(definition)
  return given === undefined ? undefined : { hotC: given.atC, ...given }
}

function constantsLine(cooler: ThermoelectricCooler, sheet: ModuleDatasheet | undefined): string {
  const { seebeckVPerK, resistanceOhm, conductanceWPerK } = cooler
  const from = sheet === undefined ? 'as stated' : 'from its datasheet figures'
  const constants = [
    `α **${quantityText(seebeckVPerK * 1000, 'mV/K')}**`,
    `R **${quantityText(resistanceOhm, 'Ω')}**`,
    `K **${quantityText(conductanceWPerK, 'W/K')}**`,
  ]
  return `One module, ${from}: ${constants.join(', ')}.`
}

function bestLine(cooler: ThermoelectricCooler, hotC: number): string {
  const { heatW, differenceK } = moduleFigures(cooler, hotC)
  return `At its best, hot side ${plain(hotC)} °C: **${powerText(heatW)}** at no difference, **${differenceText(differenceK)}** at no heat.`
}

/** The constants of a thermoelectric cooler's module, its best and its datasheet; nothing for other coolers. */
export function moduleHover(definition: Definition): Told | undefined {
  const { value } = coolerConstants(definition)
  const cooler = value && drivenPlate(value)
  if (cooler === undefined) return undefined
  const sheet = sheetOf(definition)
  const hotC = sheet?.hotC ?? usualHotC
  const compared = sheet && sheetTold(sheet)
  return together(
    told({ lines: [constantsLine(cooler, sheet), bestLine(cooler, hotC)] }),
    compared,
    told({ rest: [constantsText(cooler, sheet), bestText(cooler, hotC)] }),
  )
}

/** The constants alone, for the hover of the whole cooler. */
export function moduleSummary(definition: Definition, cooler: ThermoelectricCooler): string {
  return constantsText(cooler, sheetOf(definition))
}

/** A word where the datasheet contradicts itself. */
export function moduleWarnings(definition: Definition): readonly string[] {
  const sheet = sheetOf(definition)
  const contradicts = sheet !== undefined && Math.abs(moduleFromDatasheet(sheet).heatRatio - 1) > HEAT_RATIO_TOLERANCE
  return contradicts ? ['The datasheet figures contradict each other.'] : []
}
