/** What is asked of a load and no setting, cooler or room could bring about, because the part itself ends before it. */

import { activeGroups, type Bench, groupSettings, groupsOf, isWork, restPowerW } from '../model/index.ts'
import type { Evaluation } from '../semantic/evaluate.ts'
import type { Expectation } from '../semantic/expectations.ts'
import { groupViews } from '../semantic/group-view.ts'
import { meets } from '../semantic/judging.ts'
import { partVoltages } from '../semantic/profile-values.ts'
import { clockText, powerText, ratioText, voltageText } from '../wording/figures.ts'
import { highestSet } from './set-voltages.ts'

/** The end of a part, in the base unit of what is asked, and in words. */
interface End {
  readonly value: number
  readonly text: string
}

type About = Pick<Expectation, 'load' | 'course' | 'figure' | 'compare' | 'target' | 'group' | 'forS'>

/** The kinds of cores whose clock may decide. */
function clocked({ input }: Evaluation, { part }: Bench, { load, course, group }: About) {
  const groups = groupsOf(part)
  const named = groups.flatMap((own, index) => (part.groups?.[index]?.name === group ? [{ own, index }] : []))
  const all = group === undefined ? groups.map((own, index) => ({ own, index })) : named
  if (course !== undefined) return all
  const loads = input.loads.flatMap(one => (one.name === load && isWork(one.load) ? [one.load] : []))
  return all.filter(one => loads.some(work => activeGroups(part, work).some(({ index }) => index === one.index)))
}

const clockEnd = (ratio: number, bench: Bench): number => ratio * bench.part.referenceGhz

/**
 * The fastest that cores run at their highest ratio, or at a step that stands above it. What vector work gives back is a
 * setting, and no end of the part.
 */
function fastest(evaluation: Evaluation, bench: Bench, about: About): End | undefined {
  const highs = clocked(evaluation, bench, about).flatMap(({ own, index }) => [
    own.ratioHigh,
    ...groupSettings(bench.profile, index).steps.map(({ ratio }) => ratio),
  ])
  if (highs.length === 0) return undefined
  const ratio = Math.max(...highs)
  const value = clockEnd(ratio, bench)
  return { value, text: `goes up to ${ratioText(ratio)}: ${clockText(value * 1000)}` }
}

/** The slowest that cores run: limits lower a clock to its lowest ratio and no further. */
function slowest(evaluation: Evaluation, bench: Bench, about: About): End | undefined {
  const lows = clocked(evaluation, bench, about).map(({ own }) => own.ratioLow)
  if (lows.length === 0) return undefined
  const ratio = Math.min(...lows)
  const value = clockEnd(ratio, bench)
  return { value, text: `goes down to ${ratioText(ratio)}: ${clockText(value * 1000)}` }
}

/** The highest voltage that the part allows any group of its cores, or that is set now. */
function highestVoltage(evaluation: Evaluation): End | undefined {
  const allowed = groupViews(evaluation.profile).flatMap(view => partVoltages(view)?.highV ?? [])
  if (allowed.length === 0) return undefined
  const allowedV = Math.max(...allowed)
  const setV = Math.max(0, ...highestSet(evaluation).map(one => one.setV))
  const text = `allows up to ${voltageText(allowedV)}`
  if (setV <= allowedV) return { value: allowedV, text }
  return { value: setV, text: `${text} and is set to ${voltageText(setV)}` }
}

/** What the part takes whatever its cores do. */
function leastPower({ input }: Evaluation, { part }: Bench, { load }: About): End | undefined {
  const loads = input.loads.filter(({ name }) => name === load).map(one => one.load)
  const [first] = loads
  if (first === undefined) return undefined
  if (loads.every(isWork))
    return { value: part.sharedPowerW, text: `takes ${powerText(part.sharedPowerW)} before any core works` }
  if (isWork(first)) return undefined
  const value = restPowerW(first, part)
  return { value, text: `takes ${powerText(value)} at \`${load}\`, whatever is set` }
}

function endFor(evaluation: Evaluation, bench: Bench, about: About): End | undefined {
  const { figure, compare, course, forS } = about
  if (figure === 'clock' && compare === '>=') return fastest(evaluation, bench, about)
  // A machine that stops has no clock, which for a time counts as the slowest of all.
  if (figure === 'clock' && course === undefined && forS === undefined) return slowest(evaluation, bench, about)
  if (figure === 'voltage' && compare === '>=') return highestVoltage(evaluation)
  if (figure === 'power' && compare === '<=' && course === undefined) return leastPower(evaluation, bench, about)
  return undefined
}

/**
 * How the part ends before what is asked: `part sample-b7 goes up to 60x: 6.00 GHz`; undefined where it does not.
 * @param bench the profile's, with or without its steps
 */
export function beyondPart(evaluation: Evaluation, bench: Bench, about: About): string | undefined {
  const end = endFor(evaluation, bench, about)
  if (end === undefined || meets(end.value, about.compare, about.target)) return undefined
  return `part ${evaluation.profile.part?.name} ${end.text}`
}
