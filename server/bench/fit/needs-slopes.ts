/** The slopes of a part's needs, from how its runs ended: one, or one for each group of cores that has its own. */

import { activeGroups, isWork, type Part, partOfGroup } from '../../model/index.ts'
import type { Definition } from '../../semantic/definitions.ts'
import { entry } from '../../semantic/definitions.ts'
import { groupBlocks } from '../../semantic/group-constants.ts'
import type { Figure, Reading } from '../log/figures.ts'
import { bestFigureInSlices, type ComparedRun } from '../run/compared.ts'
import { groupWorkOf } from '../run/group-work.ts'
import type { Slices } from '../statistics/independent.ts'
import { type NeedsEvidence, type NeedsSlope, needsSlope, whyNoEvidence } from './needs-slope.ts'

const slopeWord = 'needs-slope'

/** @param group in whose block it stands; absent: in that of the part */
export type OwnSlope = NeedsSlope & { readonly group?: string }

/** A slope of the needs, and the groups that take it, by their places; of a plain part the one place 0. */
export interface SlopePlace {
  readonly name: string
  readonly group?: string
  readonly takenBy: readonly number[]
}

/** How a run ended for one group of its part's cores; of a plain part 0. Or why that says nothing of the needs. */
export interface RunEnd {
  readonly run: string
  readonly index: number
  readonly found: NeedsEvidence | string
}

/** The slopes of a part: what it states for several groups is one, what nobody states is each group's own. */
export function slopePlaces({ match }: Definition): readonly SlopePlace[] {
  const groups = groupBlocks(match).map(({ name, block }, index) => {
    return { name, index, isOwn: entry(block, slopeWord) !== undefined }
  })
  const heirs = groups.filter(({ isOwn }) => !isOwn)
  const isShared = groups.length === 0 || (heirs.length > 0 && entry(match, slopeWord) !== undefined)
  const takenBy = groups.length === 0 ? [0] : heirs.map(({ index }) => index)
  const single = groups.flatMap(({ name, index, isOwn }): SlopePlace[] =>
    !isOwn && isShared ? [] : [{ name: `${slopeWord} of ${name}`, group: name, takenBy: [index] }],
  )
  return [...(isShared ? [{ name: slopeWord, takenBy }] : []), ...single]
}

/** What the end of a run says of the voltage needed, group by group: at which voltage and temperature it held or did not. */
export function* endsOf(run: ComparedRun): Slices<readonly RunEnd[]> {
  const { record, predicted, figures } = run
  const load = predicted?.load.load
  const { part } = predicted?.evaluation.input.bench ?? {}
  if (record.outcome === undefined || load === undefined || !isWork(load) || part === undefined) return []
  const busy = activeGroups(part, load)
  const ends: RunEnd[] = []
  const all = (found: string): readonly RunEnd[] => busy.map(({ index }) => ({ run: record.name, index, found }))
  if (record.course !== undefined) return all('it was made under a course, and its end says nothing of one load')
  // Any of them may have been the one that had too little.
  if (record.outcome.kind !== 'held' && busy.length > 1)
    return all('it stopped with several groups of cores at work, and its end does not say which had too little')
  const die = yield* bestFigureInSlices(run, 'die')
  const work = groupWorkOf(part, load, figure => figures[figure] !== undefined)
  for (const { index } of busy) {
    const own = partOfGroup(part, index)
    const [ofClock, ofVoltage]: readonly [Figure, Figure] = [
      work?.[index]?.clock ?? 'clock',
      work?.[index]?.voltage ?? 'voltage',
    ]
    const clock = yield* bestFigureInSlices(run, ofClock)
    const voltage = yield* bestFigureInSlices(run, ofVoltage)
    if (clock === undefined || voltage === undefined || die === undefined) continue
    const found = whyNoEvidence(record.outcome, die.value, own) ?? evidenceOf(run, own, { clock, voltage, die })
    ends.push({ run: record.name, index, found })
  }
  return ends
}

interface Read {
  readonly clock: Reading
  readonly voltage: Reading
  readonly die: Reading
}

function evidenceOf({ record, predicted }: ComparedRun, part: Part, { clock, voltage, die }: Read): NeedsEvidence {
  const [value = 0, standardUncertainty = 0] = [clock.value, clock.standardUncertainty].map(
    ghz => ghz / part.referenceGhz,
  )
  const isVector = predicted !== undefined && isWork(predicted.load.load) && predicted.load.load.vector
  return {
    run: record.name,
    part,
    vector: isVector,
    ratio: { value, standardUncertainty },
    voltage,
    die,
    held: record.outcome?.kind === 'held',
  }
}

/** @param asked whether the slope of this name is */
export function slopesOf(
  definition: Definition,
  part: Part,
  ends: readonly RunEnd[],
  asked: (name: string) => boolean,
): readonly OwnSlope[] {
  return slopePlaces(definition).flatMap(({ name, group, takenBy }): OwnSlope[] => {
    const [first] = takenBy
    if (!asked(name) || first === undefined) return []
    const own = ends.flatMap(({ index, found }) =>
      typeof found === 'string' || !takenBy.includes(index) ? [] : [found],
    )
    return [{ ...needsSlope(partOfGroup(part, first), own), ...(group === undefined ? {} : { group }) }]
  })
}
