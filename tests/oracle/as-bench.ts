/** A chip of the reference as the bench and load of the model. */
import type { Bench, GroupSettings, Limits, Load, NamedGroup } from '../../server/model/types.ts'
import type { Chip, Task } from './chip.ts'

const railName = (index: number): string => (index === 0 ? 'main' : `rail-${index}`)

/** The same bench in the model's own words. */
export const benchOf = ({ bench, groups, rails }: Chip): Bench => {
  const named = groups.map((group, index): NamedGroup => {
    const { steps: _s, bands: _b, returnK: _r, vectorDrop: _v, voltage: _u, ...own } = group
    return { ...own, name: `group-${index}`, rail: railName(group.rail), ratioHigh: 99 }
  })
  const settings = groups.map(
    ({ steps, bands, returnK, vectorDrop, voltage }): GroupSettings => ({ steps, bands, returnK, vectorDrop, voltage }),
  )
  const { currentA: _, ...limits }: Limits = bench.profile.limits
  const railCurrentA = Object.fromEntries(
    rails.flatMap(({ currentA }, index) => (currentA === undefined ? [] : [[railName(index), currentA]])),
  )
  const ofRails = rails.map(({ loadLineOhm, coreVoltageStepV }, index) => [
    railName(index),
    { loadLineOhm, ...(coreVoltageStepV === undefined ? {} : { coreVoltageStepV }) },
  ])
  const { coreVoltageStepV: _step, ...board } = bench.board
  return {
    ...bench,
    part: { ...bench.part, cores: groups.reduce((sum, { cores }) => sum + cores, 0), groups: named },
    board: { ...board, rails: Object.fromEntries(ofRails) },
    profile: { ...bench.profile, limits: { ...limits, railCurrentA }, groups: settings },
  }
}

/** The same load. */
export const loadOf = ({ cores, activity, vector, uneven }: Task): Extract<Load, { kind: 'work' }> => ({
  kind: 'work',
  cores: cores.reduce((sum, own) => sum + own, 0),
  activity: 1,
  vector,
  uneven,
  groups: cores.map((own, index) => ({ cores: own, activity: activity[index] ?? 1 })),
})
