/** One edit of a profile of a part with two kinds of cores, beside the same profile of a part whose cores are all alike. */

import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { createService } from '../../../server/service.ts'
import { memoryFiles } from '../../harness/file-systems.ts'
import { root } from '../../harness/sources.ts'
import { byTurns } from './measure.ts'
import type { Size } from './size.ts'
import { compared, type Row } from './table.ts'

const folder = join(root, 'grammar', 'examples', 'two-kinds')
const read = (name: string): string => readFileSync(join(folder, name), 'utf8')

interface Texts {
  readonly bench: string
  readonly profile: string
}

/** A change of a text, which must be possible: a bench that is not alike would compare nothing. */
function changed(text: string, edits: readonly (readonly [RegExp, string])[]): string {
  return edits.reduce((all, [from, to]) => {
    if (!from.test(all)) throw new Error(`the example no longer has ${from}`)
    return all.replace(from, to)
  }, text)
}

const withGroups: Texts = { bench: read('bench.detent'), profile: read('workday.detent') }

/** The same without groups: as many cores, loads that stand for as many points, rows, bands and expectations as for each group. */
const withoutGroups: Texts = {
  bench: changed(withGroups.bench, [
    [/ {2}group small \{[\s\S]*?\n {2}\}\n/, ''],
    [/ {2}group broad \{([\s\S]*?)\n {2}\}\n/, '$1\n'],
    [/cores 6\n/, 'cores 14\n'],
    [/switching 2.6 nF/, 'switching 1.1 nF'],
    [/leakage 11 W/, 'leakage 15.5 W'],
    [/ {2}core-voltage-step side .*\n/, ''],
    [/ {2}load-line side .*\n/, ''],
    [/ {2}menu \{[\s\S]*?\n {2}\}\n/, ''],
    [/cores broad 1 to 2; cores small 2; activity 0.7; activity small 0.4/, 'cores 1 to 2; activity 0.7'],
    [/cores small 1 to 4/, 'cores 1 to 4'],
    [/cores broad 6; cores small 8/, 'cores 14'],
  ]),
  profile: changed(withGroups.profile, [
    [/ {2}steps small \{[\s\S]*?\n {2}\}\n/, ''],
    [/steps broad/, 'steps'],
    [/5 to 6 cores {3}48x/, '5 to 14 cores 48x'],
    [/bands broad/, 'bands'],
    [/1 to 6 cores {3}above 76/, '1 to 14 cores   above 76'],
    [/ {4}core small .*\n/, ''],
    [/set broad/, 'set'],
    [/ {4}current side .*\n/, ''],
    [/holds broad/, 'holds'],
    [/ {2}expect build holds small .*\n/, ''],
    [/current small <= 40 A/, 'current <= 160 A'],
    [/current 130 A/, 'current 190 A'],
  ]),
}

/** An edit of a row for some numbers of cores, and one that every point follows. */
type Edit = (profile: string, call: number) => string
const ofBand: Edit = (profile, call) =>
  profile.replace('above 60 °C', `above ${(60.01 + (call % 1000) * 0.01).toFixed(2)} °C`)
const ofVoltages: Edit = (profile, call) =>
  profile.replace('core needs + 55 mV', `core needs + ${(55.001 + (call % 5000) * 0.001).toFixed(3)} mV`)

/** A single edit may take less than one count of the processor's clock. */
const editsAtOnce = 20

/** A service with both texts open, and some of its edits: findings, predictions and expectations after each. */
async function editing({ bench, profile }: Texts, edit: Edit): Promise<(call: number) => void> {
  const uri = 'file:///bench/workday.detent'
  const service = createService(memoryFiles({ 'file:///bench/bench.detent': bench, [uri]: profile }))
  await service.workspace.load([uri])
  const unsound = service.findings(uri).map(({ finding }) => finding.code)
  // What is wrong with a profile takes time of its own: both must be sound.
  if (unsound.length > 0) throw new Error(`the bench has findings: ${unsound.join(', ')}`)
  return call => {
    for (let at = call * editsAtOnce; at < (call + 1) * editsAtOnce; at++) {
      service.workspace.set(uri, edit(profile, at), at + 2)
      service.findings(uri)
      for (const evaluation of service.evaluations(uri)) service.expectations(evaluation)
    }
  }
}

async function row(what: string, edit: Edit, size: Size): Promise<Row> {
  const [ours, theirs] = [await editing(withGroups, edit), await editing(withoutGroups, edit)]
  const [a, b] = await byTurns([ours, theirs], 4 * size.rounds)
  return compared(
    `${editsAtOnce} edits of ${what} with two kinds of cores, against the same profile without`,
    a,
    b,
    2.5,
  )
}

/** One edit with groups against one without: within 2.5 times. */
export async function groupsEdit(size: Size): Promise<readonly Row[]> {
  return [await row('a band', ofBand, size), await row('all voltages', ofVoltages, size)]
}
