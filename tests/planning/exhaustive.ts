/**
 * The search for steps and bands as its text says it, by trying everything: slow, and without a thought. It shares nothing
 * with the search itself but the judge.
 */
import type { Case, Judge, Link } from '../../server/planning/types.ts'

interface Row {
  readonly from: number
  readonly to: number
  readonly ratio: number
}

export interface BandedRow extends Row {
  readonly links: readonly Link[]
}

function confirmed<C extends Case>(
  judge: Judge<C>,
  cases: readonly C[],
  ratio: number,
  links: readonly Link[],
  scope: 'count' | 'row',
): boolean {
  const slices = judge.confirm(cases, ratio, links, scope)
  for (;;) {
    const { done, value } = slices.next()
    if (done === true) return value === undefined
  }
}

/** Whether a ratio is carried at a count. */
export function isCarried<C extends Case>(
  judge: Judge<C>,
  cores: number,
  ratio: number,
  everyCorner: boolean,
): boolean {
  const all = judge.cases(cores)
  const deciding = all.some(one => !one.yields) ? all.filter(one => !one.yields) : all.filter(one => one.standsIn)
  const corners = [...new Set(deciding.map(({ corner }) => corner))]
  const holds = (corner: number): boolean => {
    const here = deciding.filter(one => one.corner === corner)
    const isSound = here.every(one => {
      const { failure, held } = judge.judge(one, ratio, [])
      return failure === undefined && held === undefined
    })
    return isSound && confirmed(judge, here, ratio, [], 'count')
  }
  return everyCorner ? corners.every(holds) : corners.some(holds)
}

/** Every way to cut so many counts into at most so many rows. */
function cuts(cores: number, most: number): readonly (readonly number[])[] {
  const found: number[][] = []
  for (let mask = 0; mask < 2 ** (cores - 1); mask++) {
    const ends = Array.from({ length: cores }, (_, index) => index + 1).filter(
      end => end === cores || (mask >> (end - 1)) & 1,
    )
    if (ends.length <= most) found.push(ends)
  }
  return found
}

/** The rows of steps before their bands; undefined where there are none. */
function stepsOf<C extends Case>(judge: Judge<C>, rows: number | undefined, bands: number): readonly Row[] | undefined {
  const caps: number[] = []
  for (let count = 1; count <= judge.cores; count++) {
    const cap = judge.ratios
      .toReversed()
      .find(ratio => ratio <= (caps.at(-1) ?? Number.POSITIVE_INFINITY) && isCarried(judge, count, ratio, bands === 0))
    if (cap === undefined) return undefined
    caps.push(cap)
  }
  const weight = (count: number): number => judge.cases(count).reduce((sum, one) => sum + one.weight, 0)
  const tried = cuts(judge.cores, rows ?? judge.cores).flatMap(ends => {
    const found = ends.map((end, index) => ({
      from: (ends[index - 1] ?? 0) + 1,
      to: end,
      ratio: caps[end - 1] as number,
    }))
    // Equal neighbours are one row; that set is tried by itself.
    if (found.some((row, index) => row.ratio === found[index - 1]?.ratio)) return []
    let [weighted, steps] = [0, 0]
    for (const { from, to, ratio } of found) {
      for (let count = from; count <= to; count++) {
        const lost = ((caps[count - 1] as number) - ratio) / judge.ratioStep
        if (lost > 0 && !isCarried(judge, count, ratio, bands === 0)) return []
        weighted += weight(count) * lost
        steps += lost
      }
    }
    return [{ found, weighted, steps, ends }]
  })
  tried.sort((a, b) => {
    if (Math.abs(a.weighted - b.weighted) > 1e-9) return a.weighted - b.weighted
    if (Math.abs(a.steps - b.steps) > 1e-9) return a.steps - b.steps
    if (a.ends.length !== b.ends.length) return a.ends.length - b.ends.length
    const at = a.ends.findIndex((end, index) => end !== b.ends[index])
    return (a.ends[at] as number) - (b.ends[at] as number)
  })
  return tried[0]?.found
}

interface Tried {
  readonly links: readonly Link[]
  readonly clockMhz: number
  readonly alternating: number
}

/** The bands of a row of steps; undefined where no set serves. */
export function bandsOf<C extends Case>(
  judge: Judge<C>,
  { from, to, ratio }: Row,
  most: number,
): readonly Link[] | undefined {
  const cases: C[] = []
  for (let count = from; count <= to; count++) cases.push(...judge.cases(count))
  const isSound = (links: readonly Link[]): boolean =>
    cases.every(one => judge.judge(one, ratio, links).failure === undefined) &&
    confirmed(judge, cases, ratio, links, 'row')
  const total = cases.reduce((sum, { weight }) => sum + weight, 0)
  const shares = cases.map(({ weight, weightElse }) => (total > 0 ? weight : weightElse))
  const all = shares.reduce((sum, share) => sum + share, 0)
  const lowest = judge.ratios[0] as number
  const grid: Link[] = []
  for (let aboveC = 0; aboveC < judge.ceilingC; aboveC++) {
    for (let step = 1; step <= 8; step++) {
      if (ratio - step * judge.ratioStep >= lowest - 1e-9) grid.push({ aboveC, drop: step * judge.ratioStep })
    }
  }
  const sets: (readonly Link[])[][] = [[[]]]
  for (let size = 1; size <= most; size++) {
    const before = sets[size - 1] as readonly (readonly Link[])[]
    sets.push(
      before.flatMap(links => {
        const last = links.at(-1)
        return grid
          .filter(link => last === undefined || (link.aboveC > last.aboveC && link.drop > last.drop))
          .map(link => [...links, link])
      }),
    )
  }
  const sound: Tried[] = []
  for (const links of sets.flat()) {
    // None of its rows can be left out: sets come by size, so smaller ones are known.
    const isWider = sound.some(one => one.links.every(link => links.includes(link)))
    if (isWider || !isSound(links)) continue
    const verdicts = cases.map(one => judge.judge(one, ratio, links))
    sound.push({
      links,
      clockMhz: verdicts.reduce((sum, { clockMhz }, index) => sum + (clockMhz * (shares[index] as number)) / all, 0),
      alternating: verdicts.filter(({ alternates }) => alternates).length,
    })
  }
  const bestMhz = Math.max(...sound.map(({ clockMhz }) => clockMhz))
  const fewest = Math.min(...sound.filter(one => one.clockMhz >= bestMhz - 25).map(({ links }) => links.length))
  const few = sound.filter(({ links }) => links.length === fewest)
  const top = Math.max(...few.map(({ clockMhz }) => clockMhz))
  const sum = (links: readonly Link[], of: (link: Link) => number): number =>
    links.reduce((all, link) => all + of(link), 0)
  return few
    .filter(({ clockMhz }) => clockMhz >= top - 1)
    .sort(
      (a, b) =>
        a.alternating - b.alternating ||
        sum(a.links, ({ drop }) => drop) - sum(b.links, ({ drop }) => drop) ||
        sum(b.links, ({ aboveC }) => aboveC) - sum(a.links, ({ aboveC }) => aboveC),
    )[0]?.links
}

function merged(rows: readonly Row[]): readonly Row[] {
  return rows.reduce<Row[]>((found, row) => {
    const last = found.at(-1)
    if (last?.ratio === row.ratio) found[found.length - 1] = { ...last, to: row.to }
    else found.push(row)
    return found
  }, [])
}

/** Steps with their bands; undefined where there is no plan. */
export function planOf<C extends Case>(
  judge: Judge<C>,
  rows: number | undefined,
  bands: number,
): readonly BandedRow[] | undefined {
  let steps = stepsOf(judge, rows, bands)
  for (let at = 0; steps !== undefined && at < steps.length; ) {
    const row = steps[at] as Row
    if (bandsOf(judge, row, bands) !== undefined) {
      at++
      continue
    }
    let notAbove = row.ratio - judge.ratioStep / 2
    const lowered: Row[] = []
    for (const one of steps.slice(at)) {
      const ratio = judge.ratios.toReversed().find(other => {
        if (other > notAbove || other > one.ratio) return false
        for (let count = one.from; count <= one.to; count++)
          if (!isCarried(judge, count, other, bands === 0)) return false
        return true
      })
      if (ratio === undefined) return undefined
      lowered.push({ ...one, ratio })
      notAbove = ratio
    }
    steps = merged([...steps.slice(0, at), ...lowered])
  }
  return steps?.map(row => ({ ...row, links: bandsOf(judge, row, bands) as readonly Link[] }))
}
