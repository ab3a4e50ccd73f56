/** The clocks of several profiles by active cores, as one plot. */
import type { ClocksData } from '../../charts/clocks.ts'
import { settleState } from '../../model/index.ts'
import { coresText } from '../../wording/counts.ts'
import { clockText, temperatureText } from '../../wording/figures.ts'
import { cornerText, ofGroupText } from '../../wording/places.ts'
import { coreSlots, kindOf, loadOn } from './core-slots.ts'
import type { Scene } from './scene.ts'

/** Full activity in the warmest corner of each profile's room, where it settles; a line for each group of cores. */
export function clocksData(scenes: readonly Scene[]): ClocksData {
  const all = scenes.flatMap(scene => {
    const { bench, corners, name } = scene
    const corner = corners.reduce((a, b) => (b.airC >= a.airC ? b : a))
    const kind = kindOf(scene, undefined)
    const slots = coreSlots(scene)
    return [...new Set(slots.map(({ group }) => group))].map(group => {
      const points = slots.flatMap(slot => {
        const { cores } = slot
        const load = slot.group !== group || kind === undefined ? undefined : loadOn(scene, kind, slot)
        const settled = load === undefined ? null : settleState(bench, load, corner)
        if (settled === null || settled.clockMhz === null || settled.dieC === null) return []
        const sentence = `${name} on ${coresText(cores)}${ofGroupText(group)} at ${cornerText(corner)}: ${clockText(settled.clockMhz)}, die ${temperatureText(settled.dieC)}.`
        return [{ cores, clockGhz: settled.clockMhz / 1000, dieC: settled.dieC, corner, sentence }]
      })
      return { name: group === undefined ? name : `${name} ${group}`, profile: name, group, points }
    })
  })
  const isGrouped = scenes.some(({ bench }) => bench.part.groups !== undefined)
  return {
    title: 'Clock by active cores',
    note: `Full activity${isGrouped ? ' of one group, the others idle' : ''}, settled, in the warmest corner of each room.`,
    lines: all,
    figures: {
      head: ['profile', 'cores', 'air_c', 'humidity_pct', 'clock_ghz', 'die_c', ...(isGrouped ? ['group'] : [])],
      rows: all.flatMap(({ profile, group = null, points }) =>
        points.map(({ cores, corner, clockGhz, dieC }) => [
          profile,
          cores,
          corner.airC,
          corner.humidityPct,
          clockGhz,
          dieC,
          ...(isGrouped ? [group] : []),
        ]),
      ),
    },
  }
}
