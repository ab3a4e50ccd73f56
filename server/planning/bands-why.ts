/** Why a row of bands gives back no less, and begins no later. */
import { sharesOf } from './bands.ts'
import type { BandReason, Case, Failure, Instead, Link, Verdict } from './types.ts'

/** The cases at the counts of a row of steps, and what they come to under bands. */
export interface Tried<C extends Case> {
  readonly cases: readonly C[]
  readonly judge: (one: C, links: readonly Link[]) => Verdict
  /** What takes long to know where all are sound at first sight. */
  readonly confirm: (links: readonly Link[]) => Generator<undefined, Failure | undefined>
}

/** Clocks this close are the same. */
const SAME_MHZ = 1e-6

function* failing<C extends Case>({ cases, judge, confirm }: Tried<C>, links: readonly Link[]) {
  for (const one of cases) {
    const { failure } = judge(one, links)
    if (failure !== undefined) return failure()
  }
  return yield* confirm(links)
}

/** What the rows would come to instead of those that were chosen: what fails, else what decides between sets that are sound. */
function* insteadOf<C extends Case>(
  chosen: readonly Link[],
  other: readonly Link[],
  tried: Tried<C>,
): Generator<undefined, Instead> {
  const failure = yield* failing(tried, other)
  if (failure !== undefined) return { kind: 'fails', failure }
  const shares = sharesOf(tried.cases)
  const [before, after] = [chosen, other].map(links => {
    const verdicts = tried.cases.map(one => tried.judge(one, links))
    return {
      clockMhz: verdicts.reduce((sum, { clockMhz }, index) => sum + clockMhz * (shares[index] as number), 0),
      alternating: verdicts.filter(({ alternates }) => alternates).length,
    }
  }) as [Means, Means]
  const more = after.alternating - before.alternating
  if (more > 0) return { kind: 'alternates', more }
  const slowerMhz = before.clockMhz - after.clockMhz
  return slowerMhz > SAME_MHZ ? { kind: 'slower', slowerMhz } : { kind: 'alike' }
}

interface Means {
  readonly clockMhz: number
  readonly alternating: number
}

/**
 * Of each row what comes of giving a ratio-step less back, and of a threshold one degree higher; of leaving it out where
 * the row before gives as much, or the one behind begins there.
 * @param ceilingC thresholds lie below it
 */
export function* bandReasons<C extends Case>(
  links: readonly Link[],
  { ratioStep, ceilingC }: { readonly ratioStep: number; readonly ceilingC: number },
  tried: Tried<C>,
): Generator<undefined, readonly BandReason[]> {
  const found: BandReason[] = []
  for (const [index, row] of links.entries()) {
    const drop = Number((row.drop - ratioStep).toFixed(9))
    const aboveC = row.aboveC + 1
    const [before, after] = [links[index - 1], links[index + 1]]
    const lessRow = drop > (before?.drop ?? 0) + 1e-9 ? { ...row, drop } : undefined
    const laterRow = after === undefined || aboveC < after.aboveC ? { ...row, aboveC } : undefined
    const withRow = (own: Link | undefined) =>
      insteadOf(links, own === undefined ? links.toSpliced(index, 1) : links.with(index, own), tried)
    const later: Instead = aboveC >= ceilingC ? { kind: 'ceiling', ceilingC } : yield* withRow(laterRow)
    found.push({
      less: { drop: lessRow?.drop, instead: yield* withRow(lessRow) },
      later: { aboveC: laterRow?.aboveC, instead: later },
    })
  }
  return found
}
