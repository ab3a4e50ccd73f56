import {
  type Bench,
  type CoreVoltage,
  coresOf,
  isByNeeds,
  roundToStep,
  type VoltageByNeeds,
} from '../../model/index.ts'
import { coreVoltageRange } from '../../semantic/constants.ts'
import { quantity } from '../../semantic/definitions.ts'
import { onceAmong } from '../../semantic/envelope.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import type { Sourced } from '../../semantic/profile.ts'
import { givenVolts, neededVolts } from '../../wording/entered.ts'
import { millivoltsText, ratioText, temperatureText, voltageText } from '../../wording/figures.ts'
import { pointWords } from '../../wording/places.ts'
import { servingGroup } from '../support/group-voltage-fix.ts'
import { type GroupShort, groupShorts } from '../support/group-voltages.ts'
import { stateIn } from '../support/physics-edits.ts'
import { originOf } from '../support/physics-rows.ts'
import {
  coreNeedsText,
  decidingRow,
  dropWords,
  rewriteOffset,
  rewriteVoltage,
  toStep,
  usedRatios,
  voltagePlace,
} from '../support/physics-voltage.ts'
import { raiseThatHolds, type Short, servingFixedV, shortsOf } from '../support/serving-voltage.ts'
import type { Check, Fix, Found, Place } from '../types.ts'

interface Answer {
  /** What to write, in the language's spelling. */
  readonly words: string
  /** The highest set voltage that it leads to, and where. */
  readonly highestV: number
  readonly highestAt: number
  readonly fix: Fix | undefined
}

function answerFor(
  evaluation: Evaluation,
  bench: Bench,
  row: Sourced | undefined,
  shorts: readonly Short[],
): Answer | undefined {
  const { voltage } = bench.profile
  switch (voltage.kind) {
    case 'fixed':
      return fixedAnswer(evaluation, bench, shorts)
    case 'needs':
      return needsAnswer(evaluation, bench, voltage, row, shorts)
  }
}

function fixedAnswer(evaluation: Evaluation, bench: Bench, shorts: readonly Short[]): Answer | undefined {
  const leastV = servingFixedV(evaluation, bench)
  if (leastV === undefined) return undefined
  const fix = rewriteVoltage(evaluation, evaluation.profile.inner('voltage', 'core'), 'fixed', leastV)
  const words = `\`core fixed ${voltageText(leastV)}\``
  return { words, highestV: leastV, highestAt: shorts[0]?.at.ratio ?? 0, fix }
}

function needsAnswer(
  evaluation: Evaluation,
  bench: Bench,
  voltage: VoltageByNeeds,
  row: Sourced | undefined,
  shorts: readonly Short[],
): Answer | undefined {
  const rowRatio = row && quantity(row.match, 'ratio')?.value
  const rowV = row && quantity(row.match, 'voltage')?.value
  if (rowRatio !== undefined && rowV !== undefined) {
    const startV = toStep(bench, rowV, 'up')
    const raised = (byV: number): CoreVoltage => ({
      ...voltage,
      set: voltage.set.map(own => (own.ratio === rowRatio ? { ...own, voltageV: startV + byV } : own)),
    })
    const concerns = (ratio: number): boolean => shorts.some(short => Math.abs(short.at.ratio - ratio) < 1e-9)
    const byV = raiseThatHolds(bench, shorts, raised, concerns)
    if (byV === undefined) return undefined
    const fix = rewriteVoltage(evaluation, row, 'voltage', startV + byV)
    return {
      words: `\`set ${ratioText(rowRatio)} ${voltageText(startV + byV)}\``,
      highestV: startV + byV,
      highestAt: rowRatio,
      fix,
    }
  }
  const startV = toStep(bench, voltage.offsetV, 'up')
  const raised = (byV: number): CoreVoltage => ({ ...voltage, offsetV: startV + byV })
  const free = (ratio: number): boolean => decidingRow(evaluation, bench, ratio) === undefined
  const byV = raiseThatHolds(bench, shorts, raised, free)
  if (byV === undefined) return undefined
  const used = usedRatios(evaluation)
  const highest = used.filter(one => free(one.ratio)).reduce((most, one) => (one.setV > most.setV ? one : most))
  const highestV = roundToStep(highest.setV + startV + byV - voltage.offsetV, bench.board.coreVoltageStepV)
  const offsetV = startV + byV
  return {
    words: `\`${coreNeedsText(offsetV)}\``,
    highestV,
    highestAt: highest.ratio,
    fix: rewriteOffset(evaluation, offsetV),
  }
}

/** A `set` row for the one ratio that is short, which leaves the voltages of the others; undefined where it takes more. */
function rowFor(evaluation: Evaluation, bench: Bench, shorts: readonly Short[]): Answer | undefined {
  const { voltage } = bench.profile
  const [{ at } = { at: undefined }] = shorts
  const rows = evaluation.profile.setRows()
  // Rows of another profile are replaced by the first own one, all together.
  const isInherited = rows.some(({ definition }) => definition !== evaluation.profile.definition)
  if (!isByNeeds(voltage) || at === undefined || isInherited) return undefined
  const isOther = (ratio: number): boolean => Math.abs(ratio - at.ratio) > 1e-9
  if (shorts.some(short => isOther(short.at.ratio))) return undefined
  const startV = toStep(bench, at.setV, 'up')
  const raised = (byV: number): CoreVoltage => {
    const row = { ratio: at.ratio, voltageV: startV + byV }
    return { ...voltage, set: [...voltage.set, row].sort((a, b) => a.ratio - b.ratio) }
  }
  const byV = raiseThatHolds(bench, shorts, raised, ratio => !isOther(ratio))
  if (byV === undefined) return undefined
  const line = `set ${ratioText(at.ratio)} ${voltageText(startV + byV)}`
  const edit = stateIn(evaluation.profile.definition, 'voltage', line)
  const fix = edit && { title: `Add \`${line}\``, edits: [edit] }
  return { words: `\`${line}\``, highestV: startV + byV, highestAt: at.ratio, fix }
}

/** What to expect of so much too little; engineering judgement, no source. */
function dangerOf(byV: number): string {
  if (byV < 0.002) return 'too little for a meter to show, but nothing is left for a warm day or an older part'
  return byV < 0.02 ? 'enough for silent errors and a rare crash' : 'enough for crashes and silent errors'
}

/** The same of a part with groups: each needs its own, and gets what its rail gives. */
function* byGroup(evaluation: Evaluation, bench: Bench): Iterable<Found> {
  const worst = new Map<string, GroupShort>()
  for (const short of groupShorts(evaluation, bench)) {
    const key = `${short.at.start} ${short.at.end} ${short.view.group}`
    if (short.byV > (worst.get(key)?.byV ?? 0)) worst.set(key, short)
  }
  for (const { at, view, point, note, byV } of worst.values()) {
    const { ratio, setV, voltageV, needV } = note
    const answer = servingGroup(evaluation, bench, view, ratio, 'set')
    const way =
      answer === undefined
        ? "Set more for this group within the maker's limit, or lower its step for these cores."
        : `\`${answer.words}\` would do by the model; the maker's limit comes first.`
    const lost = setV - voltageV > 5e-5 ? `, the load line takes ${millivoltsText(setV - voltageV)}` : ''
    yield {
      at,
      ...originOf(evaluation, point),
      ...(view.group === undefined ? {} : { group: view.group }),
      message: `${view.group}: Voltage ${millivoltsText(byV)} short at ${ratioText(ratio)}: ${pointWords(point)}. The die gets ${givenVolts(voltageV)} of the ${voltageText(setV)} set${lost}, and the group needs ${neededVolts(needV)} at ${temperatureText(point.settled.dieC ?? 0)}: ${dangerOf(byV)}. ${way}`,
      fixes: answer === undefined ? [] : [answer.fix],
    }
  }
}

const shortsAmong = onceAmong((_, points) => points.flatMap(point => shortsOf(point)))

export const voltageShort: Check = {
  code: 'voltage-short',
  severity: 'error',
  rests: ['part', 'board', 'steps', 'bands', 'vector', 'voltage', 'limits'],
  title: 'The die gets less voltage than it needs',
  page: {
    what: 'The die voltage behind the load line against what the sample needs at that ratio and temperature (`needs`, `needs-slope`, `vector-needs`), at every number of active cores, in every corner, and at both ratios where the clock alternates.',
    why: 'Too little voltage shows as a crash in the third hour, or as a wrong result that goes unnoticed.',
    remedy:
      "More set voltage, as the message says, as long as it stays inside `core-voltage` and the maker's limit; otherwise a lower ratio for these cores.",
    example:
      'board bench-board {\n  load-line 0.4 mΩ                      # 97 A: 39 mV\n}\nprofile daily {\n  voltage { core needs + 10 mV }\n}',
    hasGroupExample: true,
  },
  *inProfile(evaluation) {
    const { bench } = evaluation.input
    if (bench?.part.groups !== undefined) yield* byGroup(evaluation, bench)
    if (bench === undefined || bench.part.groups !== undefined) return
    const places = new Map<string, { at: Place; shorts: Short[]; worst: Short }>()
    for (const short of shortsAmong(evaluation) ?? []) {
      const at = voltagePlace(evaluation, bench, short.at.ratio, coresOf(short.point.load))
      const key = `${at.start} ${at.end}`
      const before = places.get(key)
      if (before === undefined) places.set(key, { at, shorts: [short], worst: short })
      else {
        before.shorts.push(short)
        if (short.byV > before.worst.byV) before.worst = short
      }
    }
    // An offset is one setting for all ratios without a row of their own, wherever their findings stand.
    const free = [...places.values()]
      .flatMap(({ shorts }) => shorts)
      .filter(short => decidingRow(evaluation, bench, short.at.ratio) === undefined)
    const range = evaluation.profile.part && coreVoltageRange(evaluation.profile.part)
    for (const { at, shorts, worst } of places.values()) {
      const { point } = worst
      const { ratio, setV, voltageV, needV } = worst.at
      const row = decidingRow(evaluation, bench, ratio)
      const fits = (one: Answer | undefined): boolean =>
        one !== undefined && range !== undefined && one.highestV <= range.highV * (1 + 1e-6)
      const usual = answerFor(evaluation, bench, row, row === undefined ? free : shorts)
      const alone = row === undefined && !fits(usual) ? rowFor(evaluation, bench, free) : undefined
      const answer = fits(alone) ? alone : usual
      const isAllowed = fits(answer)
      const excess =
        usual &&
        `${usual.words}, which asks for ${voltageText(usual.highestV)} at ${ratioText(usual.highestAt)}, more than the ${voltageText(range?.highV ?? 0)} that the part allows`
      const way =
        answer === undefined
          ? ' Lower the step for these cores.'
          : isAllowed
            ? ` ${answer === alone ? `For all ratios it would take ${excess}; for this one ` : ''}${answer.words} would do by the model; the maker's limit comes first.`
            : ` It would take ${excess}: lower the step ${usual?.highestAt === ratio ? 'for these cores' : `that runs at ${ratioText(usual?.highestAt ?? 0)}, or this one,`} instead.`
      yield {
        at,
        ...originOf(evaluation, point),
        message: `Voltage ${millivoltsText(worst.byV)} short at ${ratioText(ratio)}: ${pointWords(point)}. The die gets ${givenVolts(voltageV)} of the ${voltageText(setV)} set${dropWords(bench, ratio, setV, voltageV)}, and needs ${neededVolts(needV)} at ${temperatureText(point.settled.dieC ?? 0)}: ${dangerOf(worst.byV)}.${way}`,
        fixes: isAllowed && answer?.fix !== undefined ? [answer.fix] : [],
      }
    }
  },
}
