import { dieCeilingC } from '../../model/index.ts'
import { quantity } from '../../semantic/definitions.ts'
import { inUnit } from '../../wording/entered.ts'
import { statedText } from '../../wording/figures.ts'
import { replace } from '../support/physics-edits.ts'
import { keyPlace } from '../support/physics-rows.ts'
import { settingPlace } from '../support/place.ts'
import type { Check, Fix } from '../types.ts'

export const dieLimitRange: Check = {
  code: 'die-limit-range',
  severity: 'error',
  title: 'A die limit that cannot act',
  page: {
    what: 'The profile’s `limits die` against the part’s own `die-limit`, and both against `trip`, where the machine stops.',
    why: 'Above the part’s own limit the profile’s never acts, and it looks as if more were allowed than is. At or above the trip the machine stops before it gives anything back.',
    remedy: "A limit at or below the part's `die-limit`, and that below `trip`. The maker's figures come first.",
    example: 'part sample-c2 {\n  die-limit 100 °C\n}\nprofile daily {\n  limits { die 105 °C }\n}',
  },
  *inProfile(evaluation) {
    const { profile } = evaluation
    const part = evaluation.input.bench?.part
    if (part === undefined) return
    const sourced = profile.inner('limits', 'die')
    const stated = sourced && quantity(sourced.match)
    const own = sourced !== undefined && sourced.definition === profile.definition ? sourced.definition : undefined
    const lower = (limitC: number, decimals: number): readonly Fix[] => {
      if (stated === undefined || own === undefined) return []
      const text = inUnit(limitC, stated.unit, decimals, 'down')
      return [{ title: `Lower the die limit to ${text}`, edits: [replace(own, stated, text)], preferred: true }]
    }
    const decimals = Number.isInteger(part.dieLimitC) ? 0 : 1
    if (sourced !== undefined && stated !== undefined && stated.value > part.dieLimitC + 1e-6) {
      yield {
        at: settingPlace(profile, sourced),
        message: `Die limit never acts: ${statedText(stated.value, '°C')} is ${statedText(stated.value - part.dieLimitC, 'K')} above the part's own ${statedText(part.dieLimitC, '°C')}, where it already gives ratio back. Write ${statedText(part.dieLimitC, '°C')} or less; never go above the maker's limit.`,
        fixes: lower(part.dieLimitC, decimals),
      }
    }
    const ceilingC =
      evaluation.input.bench === undefined ? part.dieLimitC : dieCeilingC(part, evaluation.input.bench.profile)
    if (part.tripC !== undefined && part.tripC <= ceilingC + 1e-6) {
      const belowC = Math.ceil(part.tripC) - 10
      yield {
        at: sourced === undefined ? keyPlace(evaluation, 'part') : settingPlace(profile, sourced),
        message: `Machine stops before it slows down: \`trip ${statedText(part.tripC, '°C')}\` is not above the ${statedText(ceilingC, '°C')} at which ratio is given back. Put the die limit some kelvin below the trip, at ${statedText(belowC, '°C')} for example.`,
        fixes: stated === undefined || stated.value > part.dieLimitC + 1e-6 ? [] : lower(belowC, 0),
      }
    }
  },
}
