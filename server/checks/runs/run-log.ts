import { nearest } from '../../../grammar/nearest.ts'
import { delimiterText } from '../../bench/log/mapping.ts'
import { HEAD_CHARACTERS, HEADER_WITHIN } from '../../bench/log/reader.ts'
import { shownCell } from '../../bench/log/sniff.ts'
import type { ComparedRun } from '../../bench/run/compared.ts'
import { madeUnder } from '../../bench/run/record.ts'
import { LOOSE_K, longerText, oddText, tooLittleText } from '../../bench/run/wording.ts'
import { type Definition, entry } from '../../semantic/definitions.ts'
import { fixed, rounded } from '../../wording/figures.ts'
import { namePlace, placeIn } from '../support/place.ts'
import type { Check, Fix, Found, Place } from '../types.ts'
import { contraryScores, inRecord } from './run-record.ts'

const why = 'Until then this run has no figures to compare with the prediction, and no fit uses it.'

/** A header without the unit behind it. */
const bare = (header: string): string =>
  header
    .replace(/[[(][^[(\])]*[\])]/g, '')
    .trim()
    .toLowerCase()

/** The header that was evidently meant. */
function meantHeader(header: string, there: readonly string[]): string | undefined {
  return there.find(one => bare(one) === bare(header)) ?? nearest(header, there)[0]
}

function headerFix(at: Place, header: string, meant: string | undefined): readonly Fix[] {
  const start = at.chunk.text.indexOf(`"${header}"`, at.start)
  if (meant === undefined || start < 0 || start >= at.end) return []
  const edit = { chunk: at.chunk, start, end: start + header.length + 2, text: `"${meant.replaceAll('"', '""')}"` }
  return [{ title: `Take the column "${meant}"`, edits: [edit], preferred: true }]
}

/** So many headers of a log are listed. */
const LISTED = 16

function headerList(headers: readonly string[]): string {
  const more = headers.length - LISTED
  return `"${headers.slice(0, LISTED).map(shownCell).join('", "')}"${more > 0 ? ` and ${more} more` : ''}`
}

function* oddFigures({ record, odd }: ComparedRun): Iterable<Found> {
  const { definition } = record
  for (const figure of odd) {
    const { problem, unitSpan, others } = figure
    const text = oddText(figure)
    const [only, ...more] = others
    const fixes: Fix[] =
      only === undefined || more.length > 0 || unitSpan === undefined
        ? []
        : [
            {
              title: `Read it in ${only.symbol}`,
              edits: [{ ...placeIn(definition, unitSpan), text: only.symbol }],
              preferred: true,
            },
          ]
    const isCelsius = problem === 'impossible' && figure.unit.symbol === '°C'
    const what = figure.kind === 'time' ? 'nothing of this log is' : 'this figure is neither'
    const advice = isCelsius ? ' Temperatures are read in °C; a log in °F or K has to be converted.' : ''
    yield {
      at: placeIn(definition, figure.span),
      ...madeUnder(record),
      ...(problem === 'still' ? { severity: 'information' } : {}),
      message:
        problem === 'still'
          ? `Here ${text}. A sensor that stands still says nothing; name another column if the log has one.`
          : `Here ${text}${/[?]$/.test(text) ? '' : '.'}${advice} Until that is right, ${what} compared ${figure.kind === 'time' ? 'or' : 'nor'} fitted.`,
      fixes,
    }
  }
}

function* inRun(run: ComparedRun): Iterable<Found> {
  const { record, log, odd } = run
  const named = record.log
  if (named === undefined || log === undefined) return
  const { definition } = record
  const at = placeIn(definition, named.pathSpan)
  if (log.state === 'missing' || log.state === 'unreadable') {
    const words = log.state === 'missing' ? 'There is no such file' : `It cannot be read: ${log.why}`
    yield { at, ...madeUnder(record), message: `${words}. ${why} Paths are relative to this file.` }
    return
  }
  if (log.state === 'no-header') {
    const list = log.headers.length === 0 ? 'no line that looks like headers' : headerList(log.headers)
    const isApart = named.delimiter !== undefined && named.delimiter !== log.delimiter
    const mark = isApart ? ` where ${delimiterText(log.delimiter)} separates the cells` : ''
    const what = named.columns.length === 0 ? 'No column is named for the log' : 'No column named here is in the log'
    const advice = isApart
      ? ' Check `delimiter`.'
      : ` The header is looked for in the first ${HEADER_WITHIN} lines and ${HEAD_CHARACTERS / 1024} K characters.`
    yield { at, ...madeUnder(record), message: `${what}, which has ${list}${mark}. ${why}${advice}` }
    return
  }
  for (const { kind, header } of log.missingColumns) {
    const column = named.columns.find(one => one.header === header)
    const place = column === undefined ? at : placeIn(definition, column.span)
    const meant = meantHeader(header, log.headers)
    const ask = meant === undefined ? '' : ` Did you mean "${meant}"?`
    const follows = kind === 'time' ? 'Until then its rows count as 1 s apart.' : 'This figure is not compared.'
    yield {
      at: place,
      ...madeUnder(record),
      message: `The log has no column "${header}"; it has ${headerList(log.headers)}.${ask} ${follows}`,
      fixes: headerFix(place, header, meant),
    }
  }
  for (const { header, headerSpan } of named.columns) {
    if (!log.twice.includes(header)) continue
    const message = `"${header}" stands more than once in the log's header. The first is taken: check that it is the one you mean, or give the columns different names.`
    yield { at: placeIn(definition, headerSpan), ...madeUnder(record), message }
  }
  const { count, first } = log.malformed
  const isMostlyLost = count >= log.rows
  // What is wrong with columns and rows has its own findings; that nothing is known follows from it.
  const isOdd = odd.some(({ kind, problem, from }) => from === 'log' && (problem !== 'still' || kind === 'time'))
  const lacks = log.missingColumns.length > 0 || hasBrokenLines(definition)
  const follows = isOdd || (isMostlyLost && count > 0)
  if (!follows && Object.keys(record.measured).length === 0) {
    if (log.rows === 0) yield { at, ...madeUnder(record), message: `The log has a header and no row below it. ${why}` }
    else if (typeof run.courseLog === 'string' && !lacks)
      yield { at: namePlace(definition), ...madeUnder(record), message: `Nothing to compare: ${run.courseLog}. ${why}` }
    else if (record.course === undefined && run.settled === undefined && !lacks)
      yield {
        at: namePlace(definition),
        ...madeUnder(record),
        message: `Nothing to compare: ${tooLittleText}. ${why} Log power and die for a few minutes, or give the figures that you read off in \`measured\`.`,
      }
    else yield* unsettled(run)
  }
  if (count > 0) {
    const lines = first.map(({ line, reason }) => `line ${line}: ${reason}`).join('; ')
    const more = count > first.length ? ` and ${count - first.length} more` : ''
    yield {
      at,
      ...madeUnder(record),
      ...(isMostlyLost ? {} : { severity: 'information' }),
      message: `${count} of ${count + log.rows} rows of the log were left out (${lines}${more}). ${isMostlyLost ? 'That is most of it: check `delimiter`, `decimal` and the columns.' : 'The means are made without them.'}`,
    }
  }
}

/** A log that ends long before it settles: what it comes to, and how much longer would tell. */
function* unsettled({ record, settled }: ComparedRun): Iterable<Found> {
  const die = settled?.figures.die
  if (settled?.toGoK === undefined || die === undefined || !(die.standardUncertainty > LOOSE_K)) return
  const longer = longerText(settled.secondsToHalve())
  yield {
    at: namePlace(record.definition),
    ...madeUnder(record),
    severity: 'information',
    message: `Known only to ± ${rounded(die.standardUncertainty, 2)} K: the die would settle at ${fixed(die.value, 0)} °C, ${settled.toGoK > 0 ? 'above' : 'below'} where the log ends.${longer === undefined ? '' : ` ${longer}.`}`,
  }
}

/** Whether a line about the log does not read, which has a finding of its own. */
function hasBrokenLines({ match }: Definition): boolean {
  return entry(match, 'log')?.children.some(({ sound }) => !sound) ?? false
}

export const runLog: Check = {
  code: 'run-log',
  severity: 'warning',
  title: 'A run without figures, or with the wrong ones',
  page: {
    what: 'The log of each `run`: whether it is there and can be read, has the columns that are named, with figures that can be in their units, and is long enough to show where it settles. What is possible follows from the part and the prediction where they are known. Rows left out are counted, the first few named. Also reported: a `revision` that cannot be read, a figure that two columns give, a header that stands twice, a run that both held and stopped, scores of one kind where more is better in one run and less in another, and a run under a course whose steps cannot be found in its log, or that gives figures read off by hand.',
    why: 'A run without figures says nothing, and a row dropped without a word shifts a mean.',
    remedy:
      'Put the log where the path says, name the columns and units as its header does, or give the figures in `measured`.',
    example: 'run evening of daily under render {\n  log "logs/evening.csv" { column power "package" W }\n}',
  },
  *inFile({ runs }) {
    for (const run of runs) {
      yield* inRecord(run)
      yield* oddFigures(run)
      yield* inRun(run)
    }
    yield* contraryScores(runs)
  },
}
