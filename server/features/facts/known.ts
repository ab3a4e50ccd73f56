/** Hover of a row of `known`: what the model makes of the point, beside what was seen. */
import { findUnit } from '../../../grammar/units/units.ts'
import type { Match } from '../../../grammar/values.ts'
import { interpolateRows, isAboveRows, partOfGroup } from '../../model/index.ts'
import { partConstants } from '../../semantic/constants.ts'
import { type Definition, mentions } from '../../semantic/definitions.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import { groupBlocks } from '../../semantic/group-constants.ts'
import { hasOperatingPoint, type KnownPoint, knownPoints, leadOf, saysSomething } from '../../semantic/known.ts'
import { compareKnown, type KnownComparison } from '../../semantic/known-predicted.ts'
import { coresText, listed } from '../../wording/counts.ts'
import {
  differenceText,
  millivoltsText,
  ratioText,
  significant,
  temperatureText,
  voltageText,
} from '../../wording/figures.ts'
import { withUncertainty } from '../../wording/uncertain.ts'
import { code, table } from '../markdown.ts'
import { type Told, told } from './told.ts'

const names = { power: 'power', die: 'die' } as const
const words = {
  clock: 'clock',
  voltage: 'voltage',
  power: 'power',
  die: 'die',
  plate: 'plate',
  coolant: 'coolant',
  air: 'air',
}

/** Beyond so many joint uncertainties chance does not explain a difference. */
const OFF = 2

function write({ figure }: KnownComparison, value: number, uncertainty: number): string {
  return figure === 'power'
    ? withUncertainty(value, uncertainty, findUnit('W'))
    : `${temperatureText(value)} ± ${differenceText(uncertainty)}`
}

function row(one: KnownComparison): readonly string[] {
  const { seen, predicted, standardUncertainty, offBy, from } = one
  return [
    names[one.figure],
    write(one, seen.value, seen.standardUncertainty),
    write(one, predicted, standardUncertainty),
    `${significant(Math.abs(offBy), 2)} ${offBy < 0 ? 'below' : 'above'}`,
    listed(from.map(figure => words[figure])),
  ]
}

/** The verdict of all comparisons in one line. */
function verdict(compared: readonly KnownComparison[]): string {
  const off = compared.filter(({ offBy }) => Math.abs(offBy) > OFF)
  if (off.length === 0) return 'the model agrees with it within its uncertainty'
  const worst = off.reduce((a, b) => (Math.abs(b.offBy) > Math.abs(a.offBy) ? b : a))
  const way = worst.offBy > 0 ? 'more' : 'less'
  return `**the model does not agree**: ${names[worst.figure]} seen is ${way} than predicted, by ${significant(Math.abs(worst.offBy), 2)} joint uncertainties`
}

/** What its voltage says of `needs`; nothing where `needs` is made of such voltages. */
function needText(part: Definition, point: KnownPoint): string | undefined {
  const { clock, voltage, die } = point.readings
  const { vector } = point
  const whole = partConstants(part).value
  const blocks = groupBlocks(part.match)
  const lead = leadOf(point, blocks)
  const index = whole?.groups?.findIndex(({ name }) => name === lead?.name) ?? -1
  const value = whole && partOfGroup(whole, index)
  if (value === undefined || clock === undefined || voltage === undefined) return undefined
  const ratio = clock.value / value.referenceGhz
  if (!(lead !== undefined && mentions(lead.block, 'needs')) && !mentions(part.match, 'needs'))
    return `It held ${voltageText(voltage.value)} at ${ratioText(Number(ratio.toFixed(2)))}: with no \`needs\` here, that is what the ratio is taken to need.`
  if (isAboveRows(value.needs, ratio)) return 'Its ratio is above the last row of `needs`, which says nothing of it.'
  const dieC = die?.value ?? value.needsAtC
  const needV =
    interpolateRows(value.needs, ratio) +
    value.needsSlopeVPerK * (dieC - value.needsAtC) +
    (vector ? value.vectorNeedsV : 0)
  const spareV = voltage.value - needV
  const against =
    spareV < 0 ? `${millivoltsText(-spareV)} less: \`needs\` is high there` : `${millivoltsText(spareV)} more`
  return `\`needs\` asks for ${voltageText(needV)} there; it held ${against}.`
}

/** The coolers that the part stands under in the profiles that are seen, each once. */
function coolersOf(evaluations: readonly Evaluation[]): readonly Definition[] {
  return [...new Set(evaluations.flatMap(({ profile }) => profile.cooler ?? []))]
}

export function knownRowHover(part: Definition, match: Match, evaluations: readonly Evaluation[]): Told | undefined {
  const point = knownPoints(part).find(one => one.match === match)
  if (point === undefined) return undefined
  const coolers = coolersOf(evaluations)
  const [cooler] = coolers
  const compared = compareKnown(part, point, cooler)
  const load = `${point.cores === undefined ? 'all cores' : coresText(point.cores)}${point.group === undefined ? '' : ` of group ${code(point.group)}`}${point.vector ? ', vector' : ''}`
  const title = `**A point that was seen** of part ${code(part.name)}, ${load}`
  if (compared.length === 0) {
    const why = saysSomething(point)
      ? 'nothing in it can be predicted from the rest'
      : hasOperatingPoint(point)
        ? 'a voltage that held, and nothing to compare'
        : 'it says nothing by itself'
    return told({ lines: [`${title}: ${why}.`, needText(part, point)] })
  }
  const usesCooler = compared.some(({ from }) => from.includes('coolant') || from.includes('air'))
  const under =
    cooler === undefined || !usesCooler
      ? undefined
      : `The die is predicted under cooler ${code(cooler.name)}${coolers.length > 1 ? ', the first of those it stands under here' : ''}.`
  return told({
    lines: [`${title}: ${verdict(compared)}.`, needText(part, point)],
    tables: [table(['', 'Seen', 'Predicted', 'Joint uncertainties', 'From'], compared.map(row))],
    rest: [
      under,
      'Each figure is predicted from the others of the row, with the constants as they are now; a fit draws the constants from all rows.',
    ],
  })
}
