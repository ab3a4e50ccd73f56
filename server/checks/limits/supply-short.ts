import type { Board } from '../../model/types.ts'
import { type EnvelopePoint, envelopeOf, worstPoint } from '../../semantic/envelope.ts'
import { powerText, statedText } from '../../wording/figures.ts'
import { pointWords } from '../../wording/places.ts'
import { sustainedFix } from '../support/physics-limits.ts'
import { keyPlace, originOf } from '../support/physics-rows.ts'
import type { Check } from '../types.ts'

/** What the board's converters pass on of what they take; model section 9. */
const converterEfficiency = 0.9

/** What part and plate together take from the supply, with the converters' losses and what else hangs on it, in W. */
export function demandW({ otherPowerW }: Board, { powerW, driveW }: EnvelopePoint['settled']): number {
  return powerW === null ? 0 : Math.max(0, powerW + (driveW ?? 0)) / converterEfficiency + otherPowerW
}

export const supplyShort: Check = {
  code: 'supply-short',
  severity: 'error',
  title: 'The power supply is too small',
  page: {
    what: 'At every number of active cores and in every corner: part and thermoelectric plate together, divided by 0.9 for the converters on the way, and `other-power` on top, against `supply`.',
    why: 'An overloaded supply drops out in the middle of a run. The plate alone can take more than the part.',
    remedy: 'A larger supply, a `sustained-power` that leaves room, or less drive current.',
    example:
      'board bench-board {\n  supply 200 W                          # 145 W at the part are 161 W there, the rest 50 W\n}',
  },
  *inProfile(evaluation) {
    const { bench } = evaluation.input
    const supplyW = bench?.board.supplyW
    if (bench === undefined || supplyW === undefined) return
    const { otherPowerW } = bench.board
    const demand = (settled: EnvelopePoint['settled']): number => demandW(bench.board, settled)
    const found = worstPoint(envelopeOf(evaluation), ({ settled }) => {
      const excess = demand(settled) - supplyW
      return excess > 1e-6 * supplyW ? excess : undefined
    })
    if (found === undefined) return
    const { point, value, bad } = found
    const { powerW, driveW } = point.settled
    const plate = driveW === null || driveW === 0 ? '' : ` and the plate ${powerText(driveW)}`
    const roomW = (supplyW - otherPowerW) * converterEfficiency - (driveW ?? 0)
    const out = sustainedFix(evaluation, bad, roomW, settled => (demand(settled) - supplyW) * converterEfficiency)
    yield {
      at: keyPlace(evaluation, 'board'),
      ...originOf(evaluation, point),
      message: `Supply ${powerText(value)} short: ${pointWords(point)} takes ${powerText(powerW ?? 0)}${plate}; with converter losses and ${statedText(otherPowerW, 'W')} for the rest that is ${powerText(value + supplyW)} from a supply of ${statedText(supplyW, 'W')}. It may drop out under load.${out.words} A supply of ${Math.ceil((value + supplyW) / 50) * 50} W would do; leave mains work to someone licensed.`,
      fixes: out.fixes,
    }
  },
}
