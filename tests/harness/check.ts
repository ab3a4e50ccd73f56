/**
 * Tests of checks. A fixture is one text of several files (see fixture.ts); a line of carets below a line marks
 * what must be found there, to the column:
 *
 *     die 95 K
 *         ^^^^ unit-mismatch
 *
 * `# finds: code` at a line's end marks a line alone; the examples with a finding each use that form.
 */
import { expect } from 'vitest'
import type { Severities } from '../../server/checks/run.ts'
import type { Finding, Fix } from '../../server/checks/types.ts'
import { applyEdits } from '../../server/service.ts'
import { type LoadedFixture, loadFixture } from './fixture.ts'

const caretLine = /^ *(\^+) +([a-z][a-z0-9-]*(?:, *[a-z][a-z0-9-]*)*) *$/

export interface Marked {
  readonly text: string
  /** `a.detent:3:5-9 code`, lines and columns from 1, sorted. */
  readonly marks: readonly string[]
}

/** A fixture without its caret lines, and what they mark. */
export function readMarks(fixture: string): Marked {
  const kept: string[] = []
  const marks: string[] = []
  let file = 'a.detent'
  let line = 0
  for (const text of fixture.split('\n')) {
    const caret = caretLine.exec(text)
    const header = /^--- (.+)$/.exec(text)
    if (caret !== null) {
      const start = text.indexOf('^') + 1
      const end = start + (caret[1]?.length ?? 0)
      for (const code of (caret[2] ?? '').split(/, */)) marks.push(`${file}:${line}:${start}-${end} ${code}`)
      continue
    }
    kept.push(text)
    if (header === null) line++
    else {
      file = header[1] ?? ''
      line = 0
    }
  }
  return { text: kept.join('\n'), marks: marks.sort() }
}

interface Position {
  readonly line: number
  readonly column: number
}

export function positionAt(text: string, offset: number): Position {
  const before = text.slice(0, offset).split('\n')
  return { line: before.length, column: (before.at(-1)?.length ?? 0) + 1 }
}

export interface FoundInFile {
  readonly file: string
  readonly start: number
  readonly end: number
  readonly finding: Finding
}

export function foundIn(loaded: LoadedFixture, severities: Severities = {}): readonly FoundInFile[] {
  const { service } = loaded
  // What rests on a run over time is found once the run is there.
  for (const uri of Object.keys(loaded.files)) service.findings(uri, severities)
  service.runs.makeAll()
  return Object.keys(loaded.files).flatMap(uri =>
    loaded.service
      .findings(uri, severities)
      .map(({ finding, start, end }) => ({ file: uri.slice(uri.lastIndexOf('/') + 1), start, end, finding })),
  )
}

function markOf(loaded: LoadedFixture, { file, start, end, finding }: FoundInFile): string {
  const text = Object.entries(loaded.files).find(([uri]) => uri.endsWith(`/${file}`))?.[1] ?? ''
  const from = positionAt(text, start)
  const to = positionAt(text, end)
  // A finding over several lines is marked on its first one.
  const column = to.line === from.line ? to.column : (text.split('\n')[from.line - 1] ?? '').length + 1
  return `${file}:${from.line}:${from.column}-${column} ${finding.code}`
}

export interface CheckOptions {
  /** Only findings of these codes are compared; without it all are. */
  readonly only?: readonly string[]
  readonly severities?: Severities
}

/** Demands that findings and marks match one to one, to the column; returns the findings. */
export async function check(fixture: string, options: CheckOptions = {}): Promise<readonly Finding[]> {
  const { text, marks } = readMarks(fixture)
  const loaded = await loadFixture(text)
  const found = foundIn(loaded, options.severities).filter(
    ({ finding }) => options.only === undefined || options.only.includes(finding.code),
  )
  expect(found.map(one => markOf(loaded, one)).sort()).toEqual(marks)
  return found.map(({ finding }) => finding)
}

/** A check of one code alone: what other checks say of the fixture is theirs. */
export function checkerOf(code: string, severities?: Severities): (fixture: string) => Promise<readonly Finding[]> {
  return fixture => check(fixture, { only: [code], ...(severities === undefined ? {} : { severities }) })
}

function chosen(finding: Finding, title: string | undefined): Fix {
  const fixes = finding.fixes ?? []
  const fix =
    title === undefined ? (fixes.find(one => one.preferred) ?? fixes[0]) : fixes.find(one => one.title === title)
  if (fix === undefined) {
    throw new Error(`No fix ${title ?? ''} of ${finding.code}; there are: ${fixes.map(one => one.title).join(' | ')}`)
  }
  return fix
}

export interface FixOptions {
  /** The fix to take; without it the preferred or the first one. */
  readonly title?: string
  /** The file whose text is returned. */
  readonly file?: string
  /** Codes of findings that may come with the fix. */
  readonly brings?: readonly string[]
  readonly severities?: Severities
}

/**
 * Takes a fix of the first finding of this code, demands that one finding of the code less is left and that the
 * fix brings none of another code, and returns the text of the file.
 */
export async function fixed(code: string, fixture: string, options: FixOptions = {}): Promise<string> {
  const { text } = readMarks(fixture)
  const loaded = await loadFixture(text)
  const before = foundIn(loaded, options.severities)
  const target = before.find(({ finding }) => finding.code === code)
  if (target === undefined) throw new Error(`Nothing found of ${code}`)
  const fix = chosen(target.finding, options.title)
  const after: Record<string, string> = { ...loaded.files }
  for (const uri of Object.keys(after)) {
    const document = loaded.service.workspace.document(uri)
    const edits = fix.edits.flatMap(({ chunk, start, end, text: inserted }) => {
      const base = document?.starts.get(chunk)
      return base === undefined ? [] : [{ start: base + start, end: base + end, text: inserted }]
    })
    edits.sort((a, b) => a.start - b.start)
    after[uri] = applyEdits(after[uri] ?? '', edits)
  }
  const again = await loadFixture(
    Object.entries(after)
      .map(([uri, content]) => `--- ${uri.slice(uri.lastIndexOf('/') + 1)}\n${content}`)
      .join('\n'),
  )
  const countOf = (list: readonly FoundInFile[], wanted: string): number =>
    list.filter(({ finding }) => finding.code === wanted).length
  const left = foundIn(again, options.severities)
  expect(countOf(left, code), `findings of ${code} after “${fix.title}”`).toBeLessThan(countOf(before, code))
  for (const other of new Set(left.map(({ finding }) => finding.code))) {
    if (options.brings?.includes(other)) continue
    expect(countOf(left, other), `${other} after “${fix.title}”`).toBeLessThanOrEqual(countOf(before, other))
  }
  const wanted = options.file ?? target.file
  return Object.entries(after).find(([uri]) => uri.endsWith(`/${wanted}`))?.[1] ?? ''
}
