import { type BandsRow, bandsRows, partCores } from '../../semantic/profile-values.ts'
import { statedText } from '../../wording/figures.ts'
import { removeFix } from '../support/edits.ts'
import { headPlace, isOwnMistake, settingPlace } from '../support/place.ts'
import type { Check, Fix } from '../types.ts'

/** Whether `other` gives back as much at every temperature from the row's threshold on; of two equal rows the first does. */
function holdsAlready(other: BandsRow, row: BandsRow, rows: readonly BandsRow[]): boolean {
  if (other === row || other.aboveC > row.aboveC || other.drop < row.drop) return false
  const isEqual = other.aboveC === row.aboveC && other.drop === row.drop
  return !isEqual || rows.indexOf(other) < rows.indexOf(row)
}

/** The rows that between them hold already for every count of the row; undefined where one count is left. */
function coverOf(row: BandsRow, rows: readonly BandsRow[], to: number): readonly BandsRow[] | undefined {
  const cover = new Set<BandsRow>()
  const deeper = rows.filter(other => holdsAlready(other, row, rows))
  for (let count = row.from; count <= to; count++) {
    const found = deeper.find(other => count >= other.from && count <= other.to)
    if (found === undefined) return undefined
    cover.add(found)
  }
  return [...cover]
}

/** Two rows in the wrong order: the cooler one gives back more. What each gives back changes places. */
function swapFix(row: BandsRow, other: BandsRow): readonly Fix[] {
  const isSameCounts = row.from === other.from && row.to === other.to
  const isOneProfile = row.sourced.definition === other.sourced.definition
  if (!isSameCounts || !isOneProfile || row.drop === other.drop || row.aboveC === other.aboveC) return []
  const { chunk } = row.sourced.definition
  const written = ({ dropSpan }: BandsRow): string => chunk.text.slice(dropSpan.start, dropSpan.end)
  return [
    {
      title: 'Swap what the two rows give back',
      edits: [
        { chunk, ...row.dropSpan, text: written(other) },
        { chunk, ...other.dropSpan, text: written(row) },
      ],
    },
  ]
}

export const bandNoEffect: Check = {
  code: 'band-no-effect',
  severity: 'hint',
  title: 'A band that changes nothing',
  page: {
    what: 'A row of `bands` where, for each of its core counts, another row gives back as much or more from the same temperature on or earlier; also a row that gives back 0x. Rows count from the step, not from the row before.',
    why: 'The row suggests a further step down that never comes.',
    remedy:
      'Remove it, or let it give back more than the rows that already act. Where two rows stand in the wrong order, a quick fix swaps what they give back.',
    example: 'bands {\n  1 to 8 cores   above 60 °C  -2x\n  1 to 8 cores   above 70 °C  -1x\n}',
  },
  *inGroup(profile) {
    if (!isOwnMistake(profile, 'bands')) return
    const rows = bandsRows(profile)
    const cores = partCores(profile) ?? Number.POSITIVE_INFINITY
    for (const row of rows) {
      // Rows for cores that the part does not have are another finding.
      const to = Math.min(row.to, cores)
      if (row.from > to) continue
      const isNothing = row.drop === 0
      const cover = isNothing ? [] : coverOf(row, rows, to)
      const first = cover?.[0]
      if (!isNothing && first === undefined) continue
      const { chunk } = row.sourced.definition
      yield {
        at: settingPlace(profile, row.sourced),
        message:
          first === undefined
            ? 'Band gives back nothing. Remove the row, or let it give back a ratio step.'
            : `Band has no effect: ${statedText(first.drop, 'x')} is already given back above ${statedText(first.aboveC, '°C')}. Rows count from the step, not from the row before. Remove this row, or let it give back more than ${statedText(first.drop, 'x')}.`,
        fixes: [
          removeFix('Remove this row', chunk, row.sourced.match.statement),
          ...(first !== undefined && cover?.length === 1 ? swapFix(row, first) : []),
        ],
        related: (cover ?? []).map(other => ({
          at: headPlace(other.sourced.definition, other.sourced.match),
          message: 'Already gives back as much',
        })),
      }
    }
  },
}
