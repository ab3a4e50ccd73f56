/** What each group of cores did in a run, which readings are its own, and what stands for those that nobody read. */

import { activeGroups, groupLoads, type NamedGroup, type Part, type Settled } from '../../model/index.ts'
import type { GroupWork, SetVoltage } from '../likelihood/work.ts'
import type { ByFigure, Figure, GroupFigure, Reading } from '../log/figures.ts'

/** How well the clock of a group is known that nobody read: engineering judgement, as the rail's voltage. */
const UNKNOWN_CLOCK_SHARE = 0.15
const UNKNOWN_RAIL_V = 0.06

/** What is predicted for a load, and what the profile sets for each group of cores. */
export interface Expected {
  readonly settled: Settled
  readonly sets: readonly SetVoltage[]
}

type Asked = Parameters<typeof groupLoads>[1]

/**
 * The groups of a load; undefined where all cores are alike.
 * @param has whether a figure was read
 * @param expected what is predicted and what is set, for what was not read
 */
export function groupWorkOf(
  part: Part,
  load: Asked,
  has: (figure: Figure) => boolean,
  expected?: Expected,
): readonly GroupWork[] | undefined {
  const { groups } = part
  if (groups === undefined) return undefined
  const lead = activeGroups(part, load)[0]?.index ?? 0
  const leadRail = groups[lead]?.rail
  const voltageOf = ({ name, rail }: NamedGroup): GroupWork['voltage'] => {
    const onRail = groups.filter(one => one.rail === rail).map(one => one.name)
    const read = [name, ...onRail].find(one => has(`voltage ${one}`))
    if (read !== undefined) return `voltage ${read}`
    return rail === leadRail ? 'voltage' : `voltage ${onRail[0]}`
  }
  return groupLoads(part, load).map((own, index): GroupWork => {
    const group = groups[index] as NamedGroup
    const named: GroupFigure = `clock ${group.name}`
    const { clockMhz = null, voltageV = null } = expected?.settled.groups?.[index] ?? {}
    const set = expected?.sets[index]
    return {
      ...own,
      clock: index === lead && !has(named) ? 'clock' : named,
      voltage: voltageOf(group),
      ...(clockMhz === null ? {} : { insteadGhz: clockMhz / 1000 }),
      ...(voltageV === null ? {} : { insteadV: voltageV }),
      ...(set && { set }),
    }
  })
}

type Given = ByFigure<Reading>

/** The first group's figures by its name are those without one, where only the name stands. */
export function withLead(readings: Given, part: Part, load: Asked): void {
  const lead = part.groups?.[activeGroups(part, load)[0]?.index ?? 0]
  if (lead === undefined) return
  const rail = part.groups?.filter(one => one.rail === lead.rail) ?? []
  const clock = readings[`clock ${lead.name}`]
  const voltage = rail.map(({ name }) => readings[`voltage ${name}`]).find(one => one !== undefined)
  if (readings.clock === undefined && clock !== undefined) readings.clock = clock
  if (readings.voltage === undefined && voltage !== undefined) readings.voltage = voltage
}

/**
 * Puts what stands for clocks and voltages that nobody read among the readings.
 * @param clockShare how well a predicted clock is known
 */
export function fillGroups(readings: Given, groups: readonly GroupWork[], part: Part, clockShare: number): void {
  const lead = groups.findIndex(({ cores }) => cores > 0)
  const leadHigh = part.groups?.[lead]?.ratioHigh ?? Number.NaN
  groups.forEach(({ cores, clock, voltage, insteadGhz, insteadV }, index) => {
    // A voltage that is set needs no reading.
    if (readings[voltage] === undefined && insteadV === undefined && readings.voltage !== undefined)
      readings[voltage] = { value: readings.voltage.value, standardUncertainty: UNKNOWN_RAIL_V }
    if (cores === 0 || readings[clock] !== undefined) return
    if (insteadGhz !== undefined) readings[clock] = { value: insteadGhz, standardUncertainty: clockShare * insteadGhz }
    else if (readings.clock !== undefined) {
      // As far up its own ratios as the first group is up its own.
      const value = (readings.clock.value * (part.groups?.[index]?.ratioHigh ?? Number.NaN)) / leadHigh
      readings[clock] = { value, standardUncertainty: UNKNOWN_CLOCK_SHARE * value }
    }
  })
}
