import { entries, entry, quantity, rows, text } from '../../semantic/definitions.ts'
import { isDoubted } from '../../semantic/doubted.ts'
import { millivoltsText, ratioText, voltageText } from '../../wording/figures.ts'
import { headPlace } from '../support/place.ts'
import type { Check } from '../types.ts'

export const needsFalling: Check = {
  code: 'needs-falling',
  severity: 'warning',
  title: 'A faster ratio that needs less voltage',
  page: {
    what: 'The rows of `needs`, by ratio: whether any faster ratio is stated to need less voltage than a slower one, or one ratio has two voltages.',
    why: 'What is stable at a fast ratio is stable at a slower one on the same voltage, so one of the two was measured or written wrongly, and every voltage between them is read from a line that slopes the wrong way.',
    remedy:
      'Measure both again. Until then the higher voltage is the safe one for stability; stay within the maker’s limit. There is no quick fix: the table does not say which row is wrong.',
    example: 'needs {\n  44x   1.185 V\n  50x   1.125 V\n}',
  },
  *inFile({ view }) {
    for (const definition of view.document.definitions) {
      if (definition.kind !== 'part') continue
      const tables = [definition.match, ...entries(definition.match, 'group')].flatMap(block => {
        const table = entry(block, 'needs')
        return table === undefined ? [] : { table, group: text(block, 'name')?.text }
      })
      for (const { table, group } of tables) {
        const read = rows(table)
          .filter(match => !isDoubted(definition.chunk, match))
          .flatMap(match => {
            const ratio = quantity(match, 'ratio')?.value
            const voltageV = quantity(match, 'voltage')?.value
            return ratio === undefined || voltageV === undefined ? [] : [{ match, ratio, voltageV }]
          })
          .sort((a, b) => a.ratio - b.ratio)
        for (const [index, row] of read.entries()) {
          const before = read[index - 1]
          if (before === undefined) continue
          const isSame = Math.abs(row.ratio - before.ratio) < 1e-9
          const differs = Math.abs(row.voltageV - before.voltageV) > 1e-9
          if (isSame ? !differs : row.voltageV >= before.voltageV - 1e-9) continue
          const message = isSame
            ? `Two needs for ${ratioText(row.ratio)}: ${voltageText(before.voltageV)} and ${voltageText(row.voltageV)}. Only one can be what this sample needs: measure it again and keep one row.`
            : `Need falls with ratio: ${ratioText(row.ratio)} has ${voltageText(row.voltageV)}, ${millivoltsText(before.voltageV - row.voltageV)} less than the slower ${ratioText(before.ratio)}. One of the two is wrong, and voltages between them are read from it: measure both again.`
          yield {
            at: headPlace(definition, row.match),
            message: `${group === undefined ? '' : `${group}: `}${message}`,
            ...(group === undefined ? {} : { group }),
          }
        }
      }
    }
  },
}
