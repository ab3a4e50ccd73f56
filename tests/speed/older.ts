/**
 * Settled predictions of this work tree beside those of another, by turns: `node tests/speed/bench.ts --against FOLDER`,
 * the folder being a work tree of this project at another commit.
 */

import { resolve } from 'node:path'
import { pathToFileURL } from 'node:url'
import { settle } from '../../server/model/settle.ts'
import type { Bench, Drive } from '../../server/model/types.ts'
import { allCores, benchWith, fanTable, plateCooler, room } from '../model/transient-bench.ts'
import { quantile, sortedMsByTurns } from './rounds.ts'

const plate = (drive: Drive): Bench =>
  benchWith({ cooler: plateCooler, profile: { fan: fanTable, drive }, part: { switchingNf: 1.7 } })

/** An invented bench of every sort that is worth telling apart. */
const sorts: readonly (readonly [string, Bench])[] = [
  ['loop', benchWith()],
  ['loop with a fan table', benchWith({ profile: { fan: fanTable } })],
  ['loop behind a load line', benchWith({ profile: { fan: fanTable }, board: { loadLineOhm: 3e-4 } })],
  ['loop at its die limit', benchWith({ profile: { fan: fanTable, limits: { dieC: 64 } } })],
  ['plate, full', plate({ kind: 'full' })],
  ['plate, dew + 2 K', plate({ kind: 'dew', marginK: 2 })],
  ['plate, hold 18 °C', plate({ kind: 'hold', temperatureC: 18 })],
  ['plate, hold 40 °C', plate({ kind: 'hold', temperatureC: 40 })],
]

const CALLS = 3000

/** Another bench each time, as after an edit, so that nothing prepared before is of use. */
const fresh = (bench: Bench, call: number): Bench => ({
  ...bench,
  part: { ...bench.part, switchingNf: bench.part.switchingNf * (1 + (call % 1000) * 1e-6) },
})

/** Prints for each sort how long a prediction takes here and there. */
export async function measureAgainst(
  folder: string,
  row: (name: string, value: string, note?: string) => void,
): Promise<void> {
  const there = (await import(pathToFileURL(resolve(folder, 'server/model/settle.ts')).href)) as {
    settle: typeof settle
  }
  for (const [name, bench] of sorts) {
    const works = [settle, there.settle].map(
      solve => (call: number) => solve(fresh(bench, call), { ...allCores }, room),
    )
    const [here = 0, before = 1] = sortedMsByTurns(works, CALLS).map(times => quantile(times, 0.5))
    const [ours, theirs] = [settle(bench, allCores, room), there.settle(bench, allCores, room)]
    const apart = Math.abs((ours?.dieC ?? Number.NaN) - (theirs?.dieC ?? Number.NaN))
    row(
      name,
      `${(here / before).toFixed(2)} times`,
      `${(1000 * here).toFixed(1)} µs against ${(1000 * before).toFixed(1)} µs; die ${apart.toExponential(1)} K beside`,
    )
  }
}
