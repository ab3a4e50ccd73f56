/** A report of some files. */

import type { Evaluation } from '../../semantic/evaluate.ts'
import { baselineComparisons } from './comparison.ts'
import { reportBlocks } from './content.ts'
import type { Making, ReportFile, ReportSource } from './source.ts'

export interface AskedReport {
  readonly files: readonly ReportFile[]
  /** Names of profiles; all of the files without any. */
  readonly profiles: readonly string[]
  /** What the others are compared with. */
  readonly baseline?: string
  /** What the figures rest on that stands in no file. */
  readonly asIf?: readonly string[]
}

/** The profiles that a report can be of, with the files as they are shown. */
export function reportProfiles(
  source: ReportSource,
  files: readonly ReportFile[],
): readonly { readonly file: string; readonly evaluation: Evaluation }[] {
  return files.flatMap(({ uri, shown }) => source.evaluations(uri).map(evaluation => ({ file: shown, evaluation })))
}

/** @returns the blocks, and on the way nothing; a name that is not there is passed over */
export function* makeReport(source: ReportSource, asked: AskedReport): Making {
  const { files, profiles, baseline, asIf = [] } = asked
  const blocks = yield* reportBlocks(source, files, profiles, () => {
    const all = reportProfiles(source, files)
    const named = (one: string) => all.find(({ evaluation }) => evaluation.profile.definition.name === one)
    const held = baseline === undefined ? undefined : named(baseline)
    if (held === undefined) return []
    const others = profiles.length === 0 ? all : profiles.flatMap(one => named(one) ?? [])
    const runs = files.flatMap(({ uri }) => source.bench.compared(uri))
    return baselineComparisons(held, others, runs, source.expectations)
  })
  const [title, ...rest] = blocks
  return title === undefined ? blocks : [title, ...asIf.map(text => ({ kind: 'text', text }) as const), ...rest]
}
