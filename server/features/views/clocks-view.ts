/** The clocks of several profiles by active cores, as one plot. */
import type { ClocksData } from '../../charts/clocks.ts'
import { settleState } from '../../model/index.ts'
import { coresText } from '../../wording/counts.ts'
import { clockText, temperatureText } from '../../wording/figures.ts'
import { cornerText } from '../../wording/places.ts'
import type { Scene } from './scene.ts'

/** Full activity in the warmest corner of each profile's room, where it settles. */
export function clocksData(scenes: readonly Scene[]): ClocksData {
  const all = scenes.map(scene => {
    const { bench, corners, name } = scene
    const corner = corners.reduce((a, b) => (b.airC >= a.airC ? b : a))
    const points = Array.from({ length: bench.part.cores }, (_, index) => index + 1).flatMap(cores => {
      const settled = settleState(bench, { kind: 'work', activity: 1, vector: false, cores }, corner)
      if (settled === null || settled.clockMhz === null || settled.dieC === null) return []
      const sentence = `${name} on ${coresText(cores)} at ${cornerText(corner)}: ${clockText(settled.clockMhz)}, die ${temperatureText(settled.dieC)}.`
      return [{ cores, clockGhz: settled.clockMhz / 1000, dieC: settled.dieC, corner, sentence }]
    })
    return { name, points }
  })
  return {
    title: 'Clock by active cores',
    note: 'Full activity, settled, in the warmest corner of each room.',
    lines: all,
    figures: {
      head: ['profile', 'cores', 'air_c', 'humidity_pct', 'clock_ghz', 'die_c'],
      rows: all.flatMap(({ name, points }) =>
        points.map(({ cores, corner, clockGhz, dieC }) => [
          name,
          cores,
          corner.airC,
          corner.humidityPct,
          clockGhz,
          dieC,
        ]),
      ),
    },
  }
}
