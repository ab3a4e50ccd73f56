import { readsWhole } from '../../semantic/attempted.ts'
import { kindOf } from '../../semantic/coolers/index.ts'
import { mentions, quantity } from '../../semantic/definitions.ts'
import { envelopeOf, worstPoint } from '../../semantic/envelope.ts'
import { tableRows } from '../../semantic/profile.ts'
import { inUnit } from '../../wording/entered.ts'
import { percentText, temperatureText } from '../../wording/figures.ts'
import { pointWords } from '../../wording/places.ts'
import { replace } from '../support/physics-edits.ts'
import { keyPlace, originOf } from '../support/physics-rows.ts'
import { settingPlace } from '../support/place.ts'
import type { Check, FixEdit } from '../types.ts'
import { fanRows } from './fan-falling.ts'

export const fanBelowData: Check = {
  code: 'fan-below-data',
  severity: 'warning',
  title: 'A fan duty below what the radiator was measured at',
  page: {
    what: 'The fan duty that a load settles at against the lowest duty among the rows of the cooler’s `radiator`. Below it, down to a stopped fan, the model keeps the resistance of that row.',
    why: 'A radiator on a slower fan cools less than that row says, so the bench runs warmer than the prediction.',
    remedy:
      'Measure the radiator at this duty and add the row, or keep the fan at or above the lowest duty that was measured.',
    example:
      'cooler big-loop kind loop {\n  radiator { 30 % 0.090 K/W; 100 % 0.045 K/W }\n}\nprofile daily {\n  fan { 24 °C 15 %; 48 °C 100 % }\n}',
  },
  *inProfile(evaluation) {
    const { profile, input } = evaluation
    const cooler = input.bench?.cooler
    if (cooler === undefined || !readsWhole(profile.cooler, 'radiator')) return
    const lowestPct = kindOf(cooler).radiatorOf(cooler)[0]?.dutyPct
    const points = envelopeOf(evaluation)
    const found = worstPoint(points, ({ settled }) => {
      return settled.notes.fanBelowData && settled.fanPct !== null ? -settled.fanPct : undefined
    })
    if (found === undefined || lowestPct === undefined) return
    const { point } = found
    const { fanPct, coolantC } = point.settled
    const low = fanRows(tableRows(profile, 'fan')).filter(row => row.dutyPct < lowestPct)
    const slowest = low.reduce((a, b) => (b.dutyPct < a.dutyPct ? b : a), low[0] as (typeof low)[number])
    const edits = low.flatMap(({ sourced }): FixEdit[] => {
      const written = quantity(sourced.match, 'duty')
      if (written === undefined || sourced.definition !== profile.definition) return []
      const text = inUnit(lowestPct, written.unit, Number.isInteger(lowestPct) ? 0 : 1, 'up')
      return [replace(sourced.definition, written, text)]
    })
    const isStated = profile.cooler !== undefined && mentions(profile.cooler.match, 'radiator')
    const limit = isStated
      ? `Fan below what was measured: ${percentText(fanPct ?? 0)} duty, the lowest \`radiator\` row is ${percentText(lowestPct)}`
      : `Fan below what is usual: ${percentText(fanPct ?? 0)} duty, and a radiator that is left out counts from ${percentText(lowestPct)}`
    yield {
      at: slowest === undefined ? keyPlace(evaluation, 'fan') : settingPlace(profile, slowest.sourced),
      ...originOf(evaluation, point),
      message: `${limit}. ${pointWords(point)} settles there (coolant ${temperatureText(coolantC ?? 0)}); the radiator cools less than predicted${fanPct === 0 ? ', far less with the fan stopped' : ''}. Keep the fan at ${percentText(lowestPct)} or more, or measure the radiator there.`,
      fixes:
        edits.length === 0 || edits.length < low.length
          ? []
          : [{ title: `Keep the fan at ${percentText(lowestPct)} or more`, edits, preferred: true }],
    }
  },
}
