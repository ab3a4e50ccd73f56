import { HEAT_RATIO_TOLERANCE, moduleFromDatasheet, ZERO_C_IN_K } from '../../model/index.ts'
import { moduleDatasheet } from '../../semantic/constants.ts'
import { coolerKinds } from '../../semantic/coolers/index.ts'
import { entry } from '../../semantic/definitions.ts'
import { isDoubted } from '../../semantic/doubted.ts'
import { powerText, significant, statedText } from '../../wording/figures.ts'
import { headPlace } from '../support/place.ts'
import type { Check } from '../types.ts'

export const moduleInconsistent: Check = {
  code: 'module-inconsistent',
  severity: 'warning',
  title: 'Datasheet numbers that contradict each other',
  page: {
    what: 'The four datasheet figures of a thermoelectric module. Three of them give the constants of the model; the fourth, `heat`, checks them: it should be voltage · current · (hot side + difference)/(2 · hot side), in kelvin. Further off than 7 % is reported.',
    why: 'The model rests on current, voltage and difference. Where `heat` says something else one of the four is wrong, or was taken at another temperature, and the plate pumps more or less than predicted.',
    remedy:
      'Check that all four belong to the same hot-side temperature and the same row of the datasheet; measure one module if in doubt. There is no quick fix: the figures do not say which of the four is wrong.',
    example: 'module { at 35 °C; current 13.3 A; voltage 16.9 V; heat 110 W; difference 70 K }',
  },
  *inFile({ view }) {
    for (const definition of view.document.definitions) {
      const kind = definition.coolerKind
      if (kind === undefined || !coolerKinds[kind].isDriven) continue
      const sheet = moduleDatasheet(definition)
      const block = entry(definition.match, 'module')
      const heat = block && entry(block, 'heat')
      if (block?.children.some(figure => isDoubted(definition.chunk, figure))) continue
      if (sheet === undefined || heat === undefined || !(sheet.differenceK < sheet.atC + ZERO_C_IN_K)) continue
      const { heatRatio } = moduleFromDatasheet({ ...sheet, hotC: sheet.atC })
      if (Math.abs(heatRatio - 1) <= HEAT_RATIO_TOLERANCE * (1 + 1e-6)) continue
      const computedW = sheet.heatW / heatRatio
      const off = 100 * Math.abs(heatRatio - 1)
      yield {
        at: headPlace(definition, heat),
        message: `Module figures contradict each other: \`heat ${statedText(sheet.heatW, 'W')}\` is ${significant(off, 3)} % ${heatRatio < 1 ? 'less' : 'more'} than the ${powerText(computedW)} that current, voltage and difference give. The plate is predicted from those three: compare the four figures with one row of the datasheet, all at one hot side.`,
      }
    }
  },
}
