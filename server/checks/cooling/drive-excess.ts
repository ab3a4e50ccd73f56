import { type Bench, settleState } from '../../model/index.ts'
import { drivenPlate } from '../../semantic/coolers/index.ts'
import { entry, quantity } from '../../semantic/definitions.ts'
import { driveText, gentlerDrive, shareOf } from '../../semantic/drives.ts'
import { type EnvelopePoint, pointsWhileOn, worstPoint } from '../../semantic/envelope.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import { inUnit } from '../../wording/entered.ts'
import { currentText, statedText, temperatureText } from '../../wording/figures.ts'
import { pointWords } from '../../wording/places.ts'
import { deciderWords } from '../support/deciders.ts'
import { replace, setWhole } from '../support/physics-edits.ts'
import { keyPlace, originOf } from '../support/physics-rows.ts'
import type { Check, Fix } from '../types.ts'

/**
 * By how many amperes the plate is driven past the current that makes it coldest, of pulses their height past the coldest
 * height; undefined where it is not.
 */
export function excessA({ notes }: EnvelopePoint['settled']): number | undefined {
  if (notes.plate === null || notes.coldestA === null) return undefined
  const { flowingA } = notes.plate
  return flowingA > notes.coldestA * (1 + 1e-6) + 1e-9 ? flowingA - notes.coldestA : undefined
}

function isPastNowhere(other: Bench, bad: readonly EnvelopePoint[]): boolean {
  return bad.every(point => {
    const settled = settleState(other, point.load, point.corner)
    return settled !== null && settled.driveA !== null && excessA(settled) === undefined
  })
}

/** The highest drive current, in tenths of an ampere, that is past the coldest nowhere; found by trying. */
function currentThatHolds(bench: Bench, bad: readonly EnvelopePoint[]): number | undefined {
  const plate = drivenPlate(bench.cooler)
  if (plate === undefined) return undefined
  let tenths = Math.floor(10 * Math.min(...bad.map(point => point.settled.notes.coldestA ?? 0)) + 1e-6)
  for (let round = 0; round < 10 && tenths > 0; round++, tenths--) {
    if (isPastNowhere({ ...bench, cooler: { ...plate, driveCurrentA: tenths / 10 } }, bad)) return tenths / 10
  }
  return undefined
}

function lowerCurrent({ profile }: Evaluation, currentA: number): readonly Fix[] {
  const statement = profile.cooler && entry(profile.cooler.match, 'drive-current')
  const written = statement && quantity(statement)
  if (profile.cooler === undefined || written === undefined) return []
  const decimals = written.unit.symbol === 'A' ? 1 : 0
  const text = inUnit(currentA, written.unit, decimals, 'down').replace('.0 ', ' ')
  return [
    { title: `Lower \`drive-current\` to ${text}`, edits: [replace(profile.cooler, written, text)], preferred: true },
  ]
}

/** What would serve every load: the drive's own setting, lower, where it has one; else less `drive-current`. */
function wayOut(
  evaluation: Evaluation,
  bench: Bench,
  bad: readonly EnvelopePoint[],
): { readonly words: string; readonly fixes: readonly Fix[] } {
  const { drive } = bench.profile
  const gentler =
    shareOf(drive) === 1
      ? gentlerDrive(drive, other => isPastNowhere({ ...bench, profile: { ...bench.profile, drive: other } }, bad))
      : undefined
  if (gentler !== undefined) {
    const line = `drive ${driveText(gentler)}`
    const edit = setWhole(evaluation.profile, evaluation.profile.key('drive'), undefined, line)
    return {
      words: ` \`${line}\` would serve every load.`,
      fixes: edit === undefined ? [] : [{ title: `Write \`${line}\``, edits: [edit], preferred: true }],
    }
  }
  const currentA = currentThatHolds(bench, bad)
  if (currentA === undefined) return { words: '', fixes: [] }
  return { words: ` ${statedText(currentA, 'A')} would serve every load.`, fixes: lowerCurrent(evaluation, currentA) }
}

export const driveExcess: Check = {
  code: 'drive-excess',
  severity: 'warning',
  title: 'Less current would make the plate colder',
  page: {
    what: 'The current through the thermoelectric modules against the one that makes the plate coldest at the same heat, for every load in every corner, idle included; for pulses their height counts. Beyond it the modules’ own heat outweighs what they pump.',
    why: 'The supply, the loop and the fans work harder for a warmer plate, and past that point each ampere more brings thermal runaway nearer.',
    remedy:
      'Lower the current or the voltage of the drive, or let `drive dew + M` or `drive hold T` choose: they never go past the coldest current.',
    example:
      'cooler te-plate kind thermoelectric {\n  drive-current 14 A                    # 9.2 A would be coldest at idle\n}\nprofile daily {\n  drive full\n}',
  },
  *inProfile(evaluation) {
    const { bench } = evaluation.input
    if (bench === undefined) return
    const points = pointsWhileOn(evaluation)
    const found = worstPoint(points, ({ settled }) => excessA(settled))
    if (found === undefined) return
    const { point, bad } = found
    const { plateC, notes } = point.settled
    const flowingA = notes.plate?.flowingA ?? 0
    const pulses = shareOf(bench.profile.drive) === 1 ? '' : ' in pulses'
    const decided = deciderWords(bench, point, settled => excessA(settled) === undefined, 'not be past the coldest')
    const { words, fixes } = wayOut(evaluation, bench, bad)
    yield {
      at: keyPlace(evaluation, 'drive', 'cooler'),
      ...originOf(evaluation, point),
      message: `Too much current: ${currentText(flowingA)}${pulses} leaves the plate at ${temperatureText(plateC ?? 0)}, ${currentText(notes.coldestA ?? 0)} would bring it to ${temperatureText(notes.coldestPlateC ?? 0)}. That is for ${pointWords(point)}, at the same heat; beyond that the current heats more than it pumps.${decided}${words}`,
      fixes,
    }
  },
}
