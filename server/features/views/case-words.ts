/** A settled case as a row of figures and as a sentence. */
import type { Figures } from '../../charts/picture.ts'
import {
  clockText,
  currentText,
  differenceText,
  powerText,
  temperatureText,
  voltageText,
} from '../../wording/figures.ts'
import { limiterText } from '../../wording/limiters.ts'
import { busyText, cornerWords } from '../../wording/places.ts'
import type { Case } from './scene.ts'

/** The keys of the output contract, so that the numbers can be compared with those of `predict`. */
const caseHead: Figures['head'] = [
  'load',
  'cores',
  'air_c',
  'humidity_pct',
  'ratio',
  'clock_mhz',
  'voltage_v',
  'power_w',
  'die_c',
  'plate_c',
  'coolant_c',
  'wet_c',
  'margin_w',
  'limiter',
  'state',
]

/** What is told apart by group of cores on a part with groups. */
const groupHead = ['cores', 'ratio', 'clock_mhz', 'voltage_v', 'need_v', 'core_c'] as const

/** The figures of cases, as a table; of a part with groups each group's stand behind those of the whole. */
export function caseFigures(cases: readonly Case[], groups: readonly { readonly name: string }[] = []): Figures {
  return {
    head: [...caseHead, ...groups.flatMap(({ name }) => groupHead.map(key => `${key} ${name}`))],
    rows: cases.map(one => [
      ...caseRow(one),
      ...groups.flatMap(({ name }) => {
        const own = one.settled.groups?.find(({ group }) => group === name)
        if (own === undefined) return groupHead.map(() => null)
        return [own.cores, own.ratio, own.clockMhz, own.voltageV, own.needV, own.coreC]
      }),
    ]),
  }
}

function caseRow({ name, cores, corner, settled }: Case): Figures['rows'][number] {
  const { ratio, clockMhz, voltageV, powerW, dieC, plateC, coolantC, wetC, marginW, limiter, state } = settled
  const { airC, humidityPct } = corner
  return [
    name,
    cores,
    airC,
    humidityPct,
    ratio,
    clockMhz,
    voltageV,
    powerW,
    dieC,
    plateC,
    coolantC,
    wetC,
    marginW,
    limiter,
    state,
  ]
}

/** `render on 12 cores`, of a part with groups `render on 6 cores of broad and 8 of small`; a load without work by its name. */
export const caseName = ({ name, cores, settled }: Pick<Case, 'name' | 'cores' | 'settled'>): string =>
  cores === 0 ? name : `${name} on ${busyText(cores, settled.groups)}`

/** Clock and voltage, of each busy group of cores where there are several kinds. */
function clocksAndVoltages({ groups, clockMhz, voltageV }: Case['settled']): readonly string[] {
  const both = (clock: number | null, voltage: number | null): string[] => [
    ...(clock === null ? [] : [clockText(clock)]),
    ...(voltage === null ? [] : [voltageText(voltage)]),
  ]
  if (groups === undefined) return both(clockMhz, voltageV)
  return groups.flatMap(own =>
    own.clockMhz === null ? [] : [`${own.group} at ${both(own.clockMhz, own.voltageV).join(' and ')}`],
  )
}

/** Every figure of a case in one sentence. */
export function caseSentence(one: Case): string {
  const { settled, corner } = one
  const where = `${caseName(one)} ${cornerWords(corner)}`
  if (settled.state === 'runaway') return `${where}: no steady state, thermal runaway.`
  const figures = [
    ...clocksAndVoltages(settled),
    powerText(settled.powerW),
    ...(settled.currentA === null ? [] : [currentText(settled.currentA)]),
    `die ${temperatureText(settled.dieC)}`,
    `plate ${temperatureText(settled.plateC)}`,
    ...(settled.coolantC === null ? [] : [`coolant ${temperatureText(settled.coolantC)}`]),
    ...(settled.plateC === null ? [] : [`plate ${differenceText(settled.plateC - settled.wetC)} above dew or frost`]),
    ...(settled.marginW === null ? [] : [`margin ${powerText(settled.marginW)}`]),
  ]
  const held = limiterText(settled)
  return `${where}: ${figures.join(', ')}${held === '' ? '' : `; held by ${held}`}.`
}
