/** What a profile asks of its cooler, and how much heat the cooler would take at most. */

import { dieCeilingC, prepareBench, prepareCorner, wetPointC } from '../../model/index.ts'
import type { Bench, Corner, Settled } from '../../model/types.ts'
import { kindOf, runsCold } from '../../semantic/coolers/index.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import { noFigure, plain, powerText, temperatureText } from '../../wording/figures.ts'
import { cornerText, loadText } from '../../wording/places.ts'
import { code, paragraphs, shortened, table } from '../markdown.ts'
import { everyLoadAtEnds, outerCorners, settledAt } from '../profiles.ts'
import { marginCell } from './predicted.ts'

const mostRows = 8
const mostProfiles = 3

function plateCell(settled: Settled | undefined): string {
  if (settled?.plateC == null) return settled?.state === 'runaway' ? 'no steady temperature' : noFigure
  return `${temperatureText(settled.plateC)} at ${powerText(settled.powerW)}`
}

/** The heat at which the plate, with so much resistance on it, comes to a temperature. */
function heatCell(bench: Bench, corner: Corner, packageKPerW: number, atC: number): string {
  const heatW = prepareCorner(prepareBench(bench), corner).curve.heatAt(packageKPerW, atC)
  return heatW > 0 ? powerText(heatW) : noFigure
}

/** The heat up to which the drive holds its target; a figure only where it has one. */
function heldCell(bench: Bench, corner: Corner): string {
  const { heldToW } = prepareCorner(prepareBench(bench), corner).curve
  return heldToW !== undefined && heldToW > 0 ? powerText(heldToW) : noFigure
}

/** What the profile controls: the drive of a plate, the speed of a fan, nothing of a chiller. */
function asSetText({ profile }: Evaluation, { cooler }: Bench): string {
  const name = code(profile.definition.name)
  return kindOf(cooler).asSet(name)
}

function limitsText(evaluation: Evaluation, bench: Bench, corners: readonly Corner[]): string {
  const ceilingC = dieCeilingC(bench.part, bench.profile)
  const { packageResistanceKPerW } = bench.part
  const cells = (cell: (corner: Corner) => string): readonly string[] => corners.map(cell)
  const wetC = ({ airC, humidityPct }: Corner): number => wetPointC(airC, humidityPct)
  const cold = runsCold(bench.cooler)
  const rows: readonly (readonly string[])[] = [
    ['is held at the drive target', ...cells(corner => heldCell(bench, corner))],
    ...(cold ? [['is at the dew or frost point', ...cells(corner => heatCell(bench, corner, 0, wetC(corner)))]] : []),
    ...(cold ? [['is at the air temperature', ...cells(corner => heatCell(bench, corner, 0, corner.airC))]] : []),
    [
      `brings the package to ${plain(ceilingC)} °C`,
      ...cells(corner => heatCell(bench, corner, packageResistanceKPerW, ceilingC)),
    ],
  ]
  const told = rows.filter(row => row.slice(1).some(cell => cell !== noFigure))
  const dash = told.some(row => row.includes(noFigure))
    ? ` A ${code(noFigure)} means that the plate is warmer than that even without heat.`
    : ''
  return paragraphs(
    table(['Most heat at which the plate', ...corners.map(cornerText)], told),
    `${asSetText(evaluation, bench)}; ${plain(ceilingC)} °C is the die limit, and the cores' own rise comes on top.${dash}`,
  )
}

function profileText(evaluation: Evaluation): string | undefined {
  const { bench } = evaluation.input
  const corners = outerCorners(evaluation)
  if (bench === undefined || corners.length === 0) return undefined
  const loads = everyLoadAtEnds(evaluation)
  const { rows, more } = shortened(
    loads.map(load => [
      loadText(load),
      ...corners.map(corner => plateCell(settledAt(evaluation, load, corner))),
      marginCell(evaluation, load),
    ]),
    mostRows,
  )
  return paragraphs(
    `Plate temperature and heat in profile ${code(evaluation.profile.definition.name)}:`,
    table(['Load', ...corners.map(cornerText), 'Least margin'], rows),
    more,
    limitsText(evaluation, bench, corners),
  )
}

/** The plate under each load of the profiles, and the heat that the cooler takes; a few profiles at most. */
export function capacityText(evaluations: readonly Evaluation[]): string {
  const { rows, more } = shortened(
    evaluations.filter(({ input }) => input.bench !== undefined),
    mostProfiles,
  )
  return paragraphs(...rows.map(profileText), more === '' ? '' : `${more} profiles`)
}
