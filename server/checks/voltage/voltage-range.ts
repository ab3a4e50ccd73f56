import {
  type Bench,
  isByNeeds,
  ratioStepCount,
  ratioStepsDown,
  roundToStep,
  setVoltageRows,
  setVoltageV,
  type VoltageByNeeds,
} from '../../model/index.ts'
import { coreVoltageRange } from '../../semantic/constants.ts'
import { quantity } from '../../semantic/definitions.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import { groupViews } from '../../semantic/group-view.ts'
import { millivoltsText, ratioText, voltageText } from '../../wording/figures.ts'
import { servingGroup } from '../support/group-voltage-fix.ts'
import { type GroupVoltage, groupVoltages } from '../support/group-voltages.ts'
import { rowRatio, stepRow } from '../support/physics-rows.ts'
import {
  coreNeedsText,
  rangeWords,
  rewriteOffset,
  rewriteVoltage,
  setRowAt,
  toStep,
  type UsedRatio,
  usedRatios,
  voltagePlace,
} from '../support/physics-voltage.ts'
import { settingPlace } from '../support/place.ts'
import { servingFixedV, servingOffsetV, servingRowV } from '../support/serving-voltage.ts'
import { lowerStep } from '../support/what-if.ts'
import type { Check, Fix, Found, Place } from '../types.ts'

type Range = { readonly lowV: number; readonly highV: number }

/** How far a voltage lies outside, positive; undefined inside. */
function outsideBy({ lowV, highV }: Range, voltageV: number): number | undefined {
  const over = Math.max(voltageV - highV, lowV - voltageV)
  return over > 1e-6 * highV ? over : undefined
}

/** The way out of one finding: a sentence, and the one edit that does it where there is one. */
interface Way {
  readonly words: string
  readonly fix: Fix | undefined
}

/** The fastest ratio at or below a step whose set voltage is inside the range, in ratio-steps down. */
function ratioInside(bench: Bench, range: Range, fromRatio: number): number | undefined {
  const rows = setVoltageRows(bench.part, bench.profile.voltage)
  for (let count = 1; count <= ratioStepCount(bench.part, fromRatio); count++) {
    const ratio = ratioStepsDown(bench.part, fromRatio, count)
    if (outsideBy(range, setVoltageV(rows, bench.board, ratio)) === undefined) return ratio
  }
  return undefined
}

function lowerRatio(evaluation: Evaluation, bench: Bench, range: Range, worst: UsedRatio): Way {
  const ratio = ratioInside(bench, range, worst.ratio)
  if (ratio === undefined) return { words: ' Take other voltages.', fix: undefined }
  const row = worst.cores === 0 ? undefined : stepRow(evaluation, worst.cores)
  // Only a step that asks for this very ratio comes down by as much as its row does.
  const isStep = row !== undefined && Math.abs(rowRatio(row) - worst.ratio) < 1e-9
  return {
    words: ` The part needs that much there: ${ratioText(ratio)} is the fastest ratio that stays inside.`,
    fix: isStep ? lowerStep(evaluation, row, ratio)[0] : undefined,
  }
}

/**
 * Which setting brings the voltage at a used ratio back into the range: to the least voltage that serves, never to the
 * highest that is allowed.
 */
function wayOut(evaluation: Evaluation, bench: Bench, range: Range, worst: UsedRatio, all: readonly UsedRatio[]): Way {
  const { voltage } = bench.profile
  const isInside = (volts: number | undefined): volts is number =>
    volts !== undefined && outsideBy(range, volts) === undefined
  const least = (serving: number | undefined): number | undefined =>
    serving === undefined ? undefined : Math.max(serving, toStep(bench, range.lowV, 'up'))
  switch (voltage.kind) {
    case 'fixed': {
      const leastV = least(servingFixedV(evaluation, bench))
      if (!isInside(leastV)) return lowerRatio(evaluation, bench, range, worst)
      const core = evaluation.profile.inner('voltage', 'core')
      return serves(`core fixed ${voltageText(leastV)}`, rewriteVoltage(evaluation, core, 'fixed', leastV))
    }
    case 'needs': {
      const row = setRowAt(evaluation, worst.ratio)
      if (row === undefined) return offsetWayOut(evaluation, bench, voltage, range, worst, all)
      const leastV = least(servingRowV(evaluation, bench, worst.ratio))
      if (!isInside(leastV)) return lowerRatio(evaluation, bench, range, worst)
      const line = `set ${ratioText(worst.ratio)} ${voltageText(leastV)}`
      return serves(line, rewriteVoltage(evaluation, row, 'voltage', leastV))
    }
  }
}

const serves = (line: string, fix: Fix | undefined): Way => ({ words: ` \`${line}\` is the least that serves.`, fix })

function offsetWayOut(
  evaluation: Evaluation,
  bench: Bench,
  voltage: VoltageByNeeds,
  range: Range,
  worst: UsedRatio,
  all: readonly UsedRatio[],
): Way {
  const isHigh = worst.setV > range.highV
  // Ratios between measured rows move with the offset, all by the same.
  const isFree = (ratio: number): boolean => setRowAt(evaluation, ratio) === undefined
  const free = all.filter(({ ratio }) => isFree(ratio)).map(({ setV }) => setV)
  const serving = servingOffsetV(evaluation, bench, isFree)
  const upV = Math.max(0, range.lowV - Math.min(...free.map(setV => setV - voltage.offsetV)))
  const offsetV = serving === undefined ? undefined : Math.max(serving, toStep(bench, upV, 'up'))
  const moved = (offsetV ?? 0) - voltage.offsetV
  const isWhole = voltage.set.length === 0 && free.every(volt => outsideBy(range, volt + moved) === undefined)
  if (offsetV !== undefined && isWhole) return serves(coreNeedsText(offsetV), rewriteOffset(evaluation, offsetV))
  return isHigh ? lowerRatio(evaluation, bench, range, worst) : { words: '', fix: undefined }
}

/** The same of a part with groups: what one of them asks for reaches every group on its rail. */
function* byGroup(evaluation: Evaluation, bench: Bench): Iterable<Found> {
  const worst = new Map<string, { readonly found: GroupVoltage; readonly at: Place; readonly by: number }>()
  for (const found of groupVoltages(evaluation, bench)) {
    const by = outsideBy(found.range, found.setV)
    if (by === undefined) continue
    const at = found.at()
    const key = `${at.start} ${at.end} ${found.group}`
    if (by > (worst.get(key)?.by ?? 0)) worst.set(key, { found, at, by })
  }
  for (const { found, at, by } of worst.values()) {
    const { group, ratio, setV, holder, range } = found
    const isHigh = setV > range.highV
    const view = groupViews(evaluation.profile).find(one => one.group === group)
    const answer = view && servingGroup(evaluation, bench, view, ratio, 'least')
    const way =
      answer === undefined
        ? `set another voltage for this ratio, or take a ${isHigh ? 'lower' : 'higher'} one`
        : `\`${answer.words}\` is the least that serves`
    const whose = holder === group ? 'the group allows' : `${holder} on the same rail allows`
    yield {
      at,
      group,
      message: `${group}: Voltage ${millivoltsText(by)} too ${isHigh ? 'high' : 'low'}: ${voltageText(setV)} at ${ratioText(ratio)}, ${whose} ${rangeWords(range)}. ${isHigh ? 'Too much voltage ages or kills the part' : 'Too little may not start, or fail without warning'}: ${way}. The maker's limit comes first.`,
      fixes: answer === undefined ? [] : [answer.fix],
    }
  }
}

export const voltageRange: Check = {
  code: 'voltage-range',
  severity: 'error',
  rests: ['part', 'board', 'steps', 'bands', 'vector', 'voltage', 'limits'],
  title: 'A set voltage outside what the part allows',
  page: {
    what: 'The set voltage at every ratio that the profile uses (steps, less what bands and vector loads give back, and wherever the predictions settle), and every `set` row, against the part’s `core-voltage`. It is checked, never clamped: firmware may apply what stands here.',
    why: 'Too much voltage ages or kills the part, at once or over months. Too little may not start.',
    remedy:
      "A voltage inside the range; if the ratio needs more, a lower ratio. The range is yours to write, the maker's limit is not: it comes first.",
    example:
      'part sample-c2 {\n  core-voltage 0.65 V to 1.45 V\n}\nprofile daily {\n  voltage { core fixed 1.52 V }\n}',
    hasGroupExample: true,
  },
  *inProfile(evaluation) {
    const { profile, input } = evaluation
    const { bench } = input
    const range = profile.part && coreVoltageRange(profile.part)
    if (bench?.part.groups !== undefined) yield* byGroup(evaluation, bench)
    if (bench === undefined || bench.part.groups !== undefined || range === undefined) return
    const used = usedRatios(evaluation)
    const worst = new Map<string, { at: Place; used: UsedRatio; by: number }>()
    const note = (placeOf: () => Place, one: UsedRatio): void => {
      const by = outsideBy(range, one.setV)
      if (by === undefined) return
      const at = placeOf()
      const key = `${at.start} ${at.end}`
      const before = worst.get(key)
      if (before === undefined || by > before.by) worst.set(key, { at, used: one, by })
    }
    for (const one of used) note(() => voltagePlace(evaluation, bench, one.ratio, one.cores), one)
    if (isByNeeds(bench.profile.voltage)) {
      for (const row of profile.setRows()) {
        const ratio = quantity(row.match, 'ratio')?.value
        const voltageV = quantity(row.match, 'voltage')?.value
        if (ratio === undefined || voltageV === undefined) continue
        note(() => settingPlace(profile, row), {
          ratio,
          cores: 0,
          setV: roundToStep(voltageV, bench.board.coreVoltageStepV),
        })
      }
    }
    for (const { at, used: one, by } of worst.values()) {
      const isHigh = one.setV > range.highV
      const { words, fix } = wayOut(evaluation, bench, range, one, used)
      const why = isHigh
        ? 'too much voltage ages or kills the part'
        : 'too little may not start, or fail without warning'
      yield {
        at,
        message: `Voltage ${millivoltsText(by)} too ${isHigh ? 'high' : 'low'}: ${voltageText(one.setV)} at ${ratioText(one.ratio)}, the part allows ${rangeWords(range)}. ${why.charAt(0).toUpperCase()}${why.slice(1)}.${words} The maker's limit comes first.`,
        fixes: fix === undefined ? [] : [fix],
      }
    }
  },
}
