/**
 * Invented logs: a bench with known constants is run over time, from rest through the warm-up, and read with noise that
 * is correlated from one reading to the next. The same seed gives the same text.
 */

import type { FigureKind } from '../../server/bench/log/figures.ts'
import { powerAt } from '../../server/model/power.ts'
import type { WorkLoad } from '../../server/model/prepare.ts'
import { settle } from '../../server/model/settle.ts'
import { simulate } from '../../server/model/transient/simulate.ts'
import type { Bench, Corner } from '../../server/model/types.ts'
import { setVoltageRows, setVoltageV } from '../../server/model/voltage.ts'
import { seededNormal } from './random.ts'

/** The figures of the part and what cools it, without how plate and fan are driven. */
export type PartFigureKind = Exclude<FigureKind, 'drive' | 'drive-voltage' | 'fan'>

export interface LogOptions {
  readonly seed: number
  readonly bench: Bench
  readonly load: WorkLoad
  readonly corner: Corner
  /** How long the load lasts. */
  readonly seconds: number
  /** At rest before it. */
  readonly restS?: number
  readonly stepS?: number
  /** Columns in their order; without one, that column is missing. */
  readonly columns?: readonly PartFigureKind[]
  readonly delimiter?: ',' | ';' | '\t'
  readonly decimal?: '.' | ','
  /** Spread of one reading. */
  readonly scatter?: Partial<Readonly<Record<PartFigureKind, number>>>
  /** What goes wrong on the way, by the number of the row. */
  readonly mishaps?: Readonly<Record<number, 'cut' | 'garbled' | 'blank' | 'header' | 'gap'>>
}

export const headers: Readonly<Record<PartFigureKind, string>> = {
  clock: 'core clock',
  voltage: 'die voltage',
  power: 'package',
  current: 'core current',
  die: 'hot spot',
  plate: 'cold plate',
  coolant: 'coolant',
}

const usualScatter: Readonly<Record<PartFigureKind, number>> = {
  clock: 0.002,
  voltage: 0.0008,
  power: 0.9,
  current: 0.8,
  die: 0.4,
  plate: 0.15,
  coolant: 0.08,
}

const digits: Readonly<Record<PartFigureKind, number>> = {
  clock: 1,
  voltage: 4,
  power: 2,
  current: 1,
  die: 2,
  plate: 2,
  coolant: 2,
}

const HANGING = 0.6
const GAP_S = 45

/** One reading after the other, each scattered by what is left of the one before and something new. */
function scattered(sd: number, normal: () => number): (value: number) => number {
  let before = normal()
  return value => {
    const found = value + sd * before
    before = HANGING * before + Math.sqrt(1 - HANGING * HANGING) * normal()
    return found
  }
}

/** The log as text, its clock in MHz and its time in seconds from the first row. */
export function syntheticLog(options: LogOptions): string {
  const { seed, bench, load, corner, seconds, restS = 60, stepS = 1 } = options
  const { columns = ['clock', 'voltage', 'power', 'die'], delimiter = ',', decimal = '.', mishaps = {} } = options
  const normal = seededNormal(seed)
  const rest = settle(bench, { kind: 'idle' }, corner)
  const run = simulate(bench, load, corner, { overS: seconds, sampleS: stepS })
  if (rest === null || run === undefined) throw new Error('this bench has no rest, or no step for the load')
  const { part, board, profile } = bench
  const rows = setVoltageRows(part, profile.voltage)
  const noise = Object.fromEntries(
    columns.map(kind => [kind, scattered(options.scatter?.[kind] ?? usualScatter[kind], normal)]),
  )
  const written = (kind: PartFigureKind, value: number): string => {
    const read = (noise[kind] as (value: number) => number)(value)
    const text = (kind === 'clock' ? read * 1000 : read).toFixed(digits[kind])
    return decimal === ',' ? text.replace('.', ',') : text
  }
  const head = ['elapsed', ...columns.map(kind => headers[kind])].join(delimiter)
  const lines = [head]
  let late = 0
  let count = 0
  const row = (timeS: number, figures: Readonly<Record<PartFigureKind, number>>): void => {
    count++
    const mishap = mishaps[count]
    if (mishap === 'gap') late += GAP_S
    if (mishap === 'header') lines.push(head)
    const time = (timeS + late).toFixed(1)
    const cells = [
      decimal === ',' ? time.replace('.', ',') : time,
      ...columns.map(kind => written(kind, figures[kind])),
    ]
    if (mishap === 'cut') cells.length = 2
    if (mishap === 'garbled') cells[cells.length - 1] = '#ERR'
    if (mishap === 'blank') cells[cells.length - 1] = ''
    lines.push(cells.join(delimiter))
  }
  const restRatio = part.ratioLow
  for (let time = 0; time < restS; time += stepS) {
    row(time, {
      clock: restRatio * part.referenceGhz,
      voltage: setVoltageV(rows, board, restRatio),
      power: part.idlePowerW,
      current: 8,
      die: rest.dieC ?? corner.airC,
      plate: rest.plateC ?? corner.airC,
      coolant: rest.coolantC ?? corner.airC,
    })
  }
  const { timeS, clockMhz, powerW, dieC, plateC, coolantC } = run.series
  for (let at = 1; at < timeS.length; at++) {
    const clock = (clockMhz[at] as number) / 1000
    const ratio = clock / part.referenceGhz
    const die = dieC[at] as number
    const point = powerAt(part, load, setVoltageV(rows, board, ratio), board.loadLineOhm, ratio, die)
    row(restS + (timeS[at] as number), {
      clock,
      voltage: point.voltageV,
      power: powerW[at] as number,
      current: point.currentA,
      die,
      plate: plateC[at] as number,
      coolant: coolantC[at] as number,
    })
  }
  return `${lines.join('\n')}\n`
}
