/** What statements that are written nowhere would change: profile by profile, and line by line of the files as they are. */

import type { ExpectationLine } from '../expectations.ts'
import type { Hint } from '../hints.ts'
import { changesSince } from '../since/since.ts'
import type { ChangedProfile, Since, SinceSide } from '../since/types.ts'
import { glanceOf } from '../since/words.ts'
import { type CourseEffect, courseEffects, effectText, type SeenCourse, seenCourses } from './courses.ts'

/** One side: the files as they are, or with the statements. */
export interface WhatIfSide extends SinceSide {
  readonly features: {
    hints(uri: string): readonly Hint[]
    expectations(uri: string): readonly ExpectationLine[]
  }
}

/** What stands beside a line of a file. */
interface Mark {
  readonly uri: string
  /** An offset of the line, in the file as it is. */
  readonly offset: number
  readonly text: string
}

/** What a profile comes to. */
interface ProfileGlance {
  readonly uri: string
  readonly profile: string
  /** `2 settings, render −0.10 GHz`; where nothing changes it says so. */
  readonly text: string
}

export interface WhatIf {
  readonly found: Since
  readonly glances: readonly ProfileGlance[]
  readonly marks: readonly Mark[]
  /** Of the courses that are followed. */
  readonly courses: readonly CourseEffect[]
  /** Those that the profiles see. */
  readonly seen: readonly SeenCourse[]
}

const nothing = 'nothing changes'

function profileMarks(side: WhatIfSide, glances: readonly ProfileGlance[]): readonly Mark[] {
  return glances.flatMap(({ uri, profile, text }) => {
    const document = side.workspace.document(uri)
    const own = document?.definitions.find(({ kind, name }) => kind === 'profile' && name === profile)
    const base = own && document?.starts.get(own.chunk)
    return own === undefined || base === undefined ? [] : [{ uri, offset: base + own.nameSpan.end, text }]
  })
}

/** Figures at the ends of lines that would be others. */
function hintMarks(now: WhatIfSide, then: WhatIfSide, isAsked: (profile: string) => boolean): readonly Mark[] {
  return now.files.flatMap(({ uri }) => {
    const others = new Map(then.features.hints(uri).map(hint => [`${hint.kind} ${hint.key}`, hint.label]))
    return now.features.hints(uri).flatMap(({ kind, key, label, offset }): Mark[] => {
      const other = others.get(`${kind} ${key}`)
      if (other === undefined || other === label) return []
      // Rows of a profile are known by its name and their first count.
      if (kind === 'clock' && !isAsked(key.split(' ')[0] ?? '')) return []
      return [{ uri, offset, text: other }]
    })
  })
}

const verdicts = new Map<boolean | null, string>([
  [true, 'holds'],
  [false, 'fails'],
  [null, 'undecided'],
])

/** Expectations that would come to something else. */
function expectationMarks(now: WhatIfSide, then: WhatIfSide, isAsked: (profile: string) => boolean): readonly Mark[] {
  const keyOf = ({ evaluation, expectation }: ExpectationLine): string =>
    `${evaluation.profile.definition.name} ${expectation.text}`
  return now.files.flatMap(({ uri }) => {
    const others = new Map(then.features.expectations(uri).map(one => [keyOf(one), one]))
    return now.features.expectations(uri).flatMap((line): Mark[] => {
      const other = others.get(keyOf(line))
      if (other === undefined || !isAsked(line.evaluation.profile.definition.name)) return []
      const isSame = other.predicted === line.predicted && other.expectation.holds === line.expectation.holds
      if (isSame) return []
      const verdict = verdicts.get(other.expectation.holds) ?? ''
      const text = other.predicted === undefined ? verdict : `${other.predicted}, ${verdict}`
      const isInherited = line.home.uri !== uri
      return [{ uri, offset: isInherited ? line.at.end : line.written.end, text }]
    })
  })
}

/** Findings that would come, at their lines; those of expectations stand at these already. */
function findingMarks(now: WhatIfSide, profiles: readonly ChangedProfile[]): readonly Mark[] {
  const uris = new Map(now.files.map(({ uri, name }) => [name, uri]))
  return profiles.flatMap(({ findings }) =>
    findings.new.flatMap(({ file, line, severity, code }): Mark[] => {
      const uri = uris.get(file)
      const text = uri === undefined ? undefined : now.workspace.document(uri)?.source.text
      if (uri === undefined || text === undefined || code.startsWith('expect-')) return []
      const lines = text.split(/(?<=\n)/)
      const offset = lines.slice(0, line - 1).reduce((sum, one) => sum + one.length, 0)
      return [{ uri, offset, text: `${severity} ${code}` }]
    }),
  )
}

/** What courses would come to, beside their names; of new ones, beside the profile's. */
function courseMarks(now: WhatIfSide, uri: string, effects: readonly CourseEffect[]): readonly Mark[] {
  const documents = [...now.workspace.documents()]
  return effects.flatMap((effect): Mark[] => {
    const course = now
      .evaluations(uri)
      .find(one => one.profile.definition.name === effect.profile)
      ?.profile.courses.find(one => one.name === effect.course)
    const home = documents.find(document => course !== undefined && document.definitions.includes(course))
    if (course === undefined || home === undefined) return []
    const offset = (home.starts.get(course.chunk) ?? 0) + course.nameSpan.end
    return [{ uri: home.uri, offset, text: `${effect.profile}: ${effect.asIf.glance}` }]
  })
}

/**
 * @param now the files as they are
 * @param then the same with the statements
 * @param profiles the names that are asked for; none asks for all
 * @param courses names of those that are followed on both sides
 */
export function whatIf(
  now: WhatIfSide,
  then: WhatIfSide,
  profiles: readonly string[],
  courses: readonly string[] = [],
): WhatIf {
  const found = changesSince(now, then, profiles)
  const isAsked = (name: string): boolean => profiles.length === 0 || profiles.includes(name)
  const names = new Map(now.files.map(({ uri, name }) => [uri, name]))
  const followed = now.files.map(({ uri }) => {
    const asked = then.evaluations(uri).filter(one => isAsked(one.profile.definition.name))
    return { uri, effects: courseEffects(now.evaluations(uri), asked, courses) }
  })
  const glances = now.files.flatMap(({ uri }) =>
    now.evaluations(uri).flatMap(({ profile: { definition } }): ProfileGlance[] => {
      const { name } = definition
      if (!isAsked(name)) return []
      const own = found.profiles.find(one => one.profile === name && one.file === names.get(uri))
      const settings = found.withoutEffect.includes(name) ? 'settings differ, and nothing that is predicted' : nothing
      const effects = (followed.find(one => one.uri === uri)?.effects ?? []).filter(({ profile }) => profile === name)
      const said = own === undefined ? (effects.length > 0 ? [] : [settings]) : [glanceOf(own)]
      return [{ uri, profile: name, text: [...said, ...effects.map(effectText)].join(', ') }]
    }),
  )
  const marks = [
    ...profileMarks(now, glances),
    ...hintMarks(now, then, isAsked),
    ...expectationMarks(now, then, isAsked),
    ...findingMarks(now, found.profiles),
    ...followed.flatMap(({ uri, effects }) => courseMarks(now, uri, effects)),
  ]
  const seen = new Set<string>()
  const own = marks.filter(({ uri, offset, text }) => {
    const key = `${uri} ${offset} ${text}`
    if (seen.has(key)) return false
    seen.add(key)
    return true
  })
  const asked = now.files.flatMap(({ uri }) =>
    now.evaluations(uri).filter(({ profile }) => isAsked(profile.definition.name)),
  )
  const effects = followed.flatMap(one => one.effects)
  return { found, glances, marks: own, courses: effects, seen: seenCourses(now.workspace.documents(), asked, courses) }
}

/** The statements as the top of the page names them. */
export function overlayLines(statements: readonly string[]): readonly string[] {
  return statements.map((text, index) => {
    const name = statements.length === 1 ? 'Statement' : `Statement ${index + 1}`
    return `${name}, written nowhere: \`${text.split(/\s+/).join(' ')}\``
  })
}
