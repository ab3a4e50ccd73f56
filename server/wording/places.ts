/** Where a figure holds: a load on a number of cores in a corner of the room. In a cell, and in a sentence. */

import { isWork } from '../model/index.ts'
import type { Corner, Load, Settled } from '../model/types.ts'
import { activeCoresText, busyGroupsText, coresText } from './counts.ts'
import { percentText, plain } from './figures.ts'

/** A load as it is called, and how it keeps the part busy. */
export interface NamedLoad {
  readonly name: string
  readonly load: Load
  /** Seen as one group of cores: what the others do, in words. */
  readonly beside?: string
}

/** A load in a corner, and the core counts that it declares, where it runs on others. */
export interface LoadPoint extends NamedLoad {
  readonly corner: Corner
  readonly declared?: { readonly from: number; readonly to: number } | undefined
  /** On a part with groups: `3 active cores of broad and 2 of small`, and whether the load declares other numbers. */
  readonly active?: string
  readonly isForeign?: boolean
}

/** ` of small` behind what is of one group of cores; nothing where all cores are alike. */
export function ofGroupText(group: string | undefined): string {
  return group === undefined ? '' : ` of ${group}`
}

/** `18 °C, 40 %`: a corner as it was written. */
export function cornerText({ airC, humidityPct }: Corner): string {
  return `${plain(airC)} °C, ${percentText(humidityPct)}`
}

/** `render (12 cores)`, of a group also `render (2 cores beside 4 of broad)`; idle and off keep none busy. */
export function loadText({
  name,
  cores: count,
  beside = '',
}: {
  readonly name: string
  readonly cores: number
  readonly beside?: string
}): string {
  return count === 0 ? name : `${name} (${coresText(count)}${beside})`
}

function isDeclared({ load, declared, isForeign }: LoadPoint): boolean {
  if (isForeign !== undefined) return !isForeign
  return !isWork(load) || declared === undefined || (load.cores >= declared.from && load.cores <= declared.to)
}

function declaredText({ declared }: LoadPoint): string {
  if (declared === undefined) return ''
  return declared.from === declared.to ? `${declared.to}` : `${declared.from} to ${declared.to}`
}

/** `render (5 cores, declared as 12), at 24 °C, 55 %` */
export function pointText(point: LoadPoint): string {
  const { name, load, corner } = point
  const at = `at ${cornerText(corner)}`
  if (!isWork(load)) return `${name}, ${at}`
  const undeclared = isDeclared(point) ? '' : `, declared as ${declaredText(point)}`
  return `${name} (${point.active ?? coresText(load.cores)}${point.beside ?? ''}${undeclared}), ${at}`
}

/** `12 cores`, of a part with groups `3 cores of broad and 2 of small`. @param groups what each group keeps busy */
export function busyText(
  cores: number,
  groups: readonly { readonly group: string; readonly cores: number }[] | undefined,
): string {
  return groups === undefined ? coresText(cores) : busyGroupsText(groups)
}

/** `at 24 °C air and 55 % humidity` */
export function cornerWords({ airC, humidityPct }: Corner): string {
  return `at ${plain(airC)} °C air and ${percentText(humidityPct)} humidity`
}

/** `` `render` on 12 active cores`` */
function caseWords({ name, load, active }: LoadPoint): string {
  return isWork(load) ? `\`${name}\` on ${active ?? activeCoresText(load.cores)}` : `\`${name}\``
}

/** `` `render` on 5 active cores (declared as 1 to 4; the scheduler may keep any number busy) at 24 °C air and 55 % humidity``. */
export function pointWords(point: LoadPoint): string {
  const undeclared = isDeclared(point)
    ? ''
    : ` (declared as ${declaredText(point)}; the scheduler may keep any number busy)`
  return `${caseWords(point)}${undeclared} ${cornerWords(point.corner)}`
}

/** Where a prediction holds: `render (12 cores), at 24 °C, 55 %`, of a part with groups how many cores of each. */
export function whereText({
  load,
  corner,
  settled,
}: {
  readonly load: NamedLoad
  readonly corner: Corner
  readonly settled: Pick<Settled, 'groups'>
}): string {
  const active = settled.groups && busyGroupsText(settled.groups)
  return pointText({ ...load, corner, ...(active !== undefined && { active }) })
}
