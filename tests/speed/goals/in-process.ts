/** The first table's rows that are measured in this process: whole texts, one edit, and the model alone. */

import { parseFile } from '../../../grammar/file.ts'
import { formatEdits } from '../../../grammar/printer.ts'
import { settle } from '../../../server/model/settle.ts'
import type { Bench } from '../../../server/model/types.ts'
import { createService, type Service } from '../../../server/service.ts'
import { memoryFiles } from '../../harness/file-systems.ts'
import { allCores, benchWith, room } from '../../model/transient-bench.ts'
import { integrated } from '../rivals.ts'
import { benchText, longText, type OwnFigures, profileText } from '../texts.ts'
import { groupsEdit } from './groups.ts'
import { byTurns, ratioOf, type Spread, spreadOf } from './measure.ts'
import { editsOfTwin, findingsOfTwin } from './peer.ts'
import type { Size } from './size.ts'
import { compared, type Row } from './table.ts'
import { twinText } from './twin.ts'

/** How many profiles stand in a text. */
const profilesIn = (text: string): number => text.split('\nprofile ').length - 1

/** Where the last digit of the middle profile's all-core ratio stands. */
export function middleRatio(text: string): number {
  const middle = text.indexOf('\nprofile', Math.floor(text.length / 2))
  return text.indexOf('46x', middle) + 1
}

const upTo = (count: number): readonly number[] => Array.from({ length: count }, (_, index) => index)

/** A text and its twin, with as many profiles in both. */
export function pairOf(lines: number): { readonly ours: string; readonly theirs: string } {
  const ours = longText(lines)
  return { ours, theirs: twinText(upTo(profilesIn(ours))) }
}

const uri = 'file:///bench/long.detent'

/** Findings of files that were never read before. */
async function checked(files: Readonly<Record<string, string>>): Promise<Service> {
  const service = createService(memoryFiles(files))
  await service.workspace.load(Object.keys(files))
  for (const each of Object.keys(files)) service.findings(each)
  return service
}

interface Folder {
  readonly ours: Readonly<Record<string, string>>
  readonly theirs: readonly string[]
}

/** Twenty files that use one, of 10,000 lines together; `loads` stand in each. */
function folderOf(size: Size, loads: string, own?: (index: number) => OwnFigures): Folder {
  const each = Math.floor(profilesIn(longText(size.lines)) / 20)
  const parts = upTo(20).map(file => upTo(each).map(index => file * each + index))
  const ours: Record<string, string> = { 'file:///bench/bench.detent': benchText }
  for (const [file, indexes] of parts.entries())
    ours[`file:///bench/file-${file}.detent`] =
      `detent 1\nuse "bench.detent"\n${loads}${indexes.map(index => profileText(index, own?.(index))).join('')}`
  return { ours, theirs: [twinText([]), ...parts.map(indexes => twinText(indexes, 'bench.json', own))] }
}

/** Another text each time: nothing that was made of the one before is of use. */
const renamed = (text: string, call: number): string => text.replaceAll('willow-12', `willow-${12 + call}`)

/** A limit of its own for each profile: what stays below it settles alike. */
const ownLimit = (index: number): OwnFigures => ({ sustainedW: 210 + index })

/** A fan table of its own for each: no two settle alike, and each is predicted by itself. */
const ownFan = (index: number): OwnFigures => ({ fanPct: Number((55 + index / 100).toFixed(2)) })

/** As `pairOf`, every profile with a number of its own. */
function unlikePairOf(lines: number, own: (index: number) => OwnFigures): ReturnType<typeof pairOf> {
  const indexes = upTo(profilesIn(longText(lines)))
  const ours = benchText + indexes.map(index => profileText(index, own(index))).join('')
  return { ours, theirs: twinText(indexes, undefined, own) }
}

async function whole(size: Size, name: string, { ours, theirs }: ReturnType<typeof pairOf>): Promise<Row> {
  const [a, b] = await byTurns(
    [call => checked({ [uri]: renamed(ours, call) }), call => findingsOfTwin(renamed(theirs, call))],
    size.rounds,
  )
  return compared(name, a, b, 1)
}

async function folder(size: Size, name: string, { ours, theirs }: Folder, goal: number): Promise<Row> {
  let [predictions, distinct] = [0, 0]
  const [a, b] = await byTurns(
    [
      async call => {
        const files = Object.entries(ours).map(([key, text]) => [key, renamed(text, call)] as const)
        const service = await checked(Object.fromEntries(files))
        const all = files.flatMap(([key]) => service.evaluations(key)).flatMap(evaluation => evaluation.predictions)
        predictions = all.length
        distinct = new Set(all).size
      },
      async call => {
        for (const text of theirs) await findingsOfTwin(renamed(text, call))
      },
    ],
    size.rounds,
  )
  const shared = distinct === predictions ? '' : `, ${distinct.toLocaleString('en')} of them distinct`
  return compared(`${name}, ${predictions.toLocaleString('en')} predictions${shared}`, a, b, goal)
}

async function edit(size: Size): Promise<Row> {
  const { ours, theirs } = pairOf(size.lines)
  const service = await checked({ [uri]: ours })
  const changed = (text: string, call: number): string => {
    const at = middleRatio(text)
    return `${text.slice(0, at)}${3 + (call % 5)}${text.slice(at + 1)}`
  }
  const [a, b] = await byTurns(
    [
      call => {
        service.workspace.set(uri, changed(ours, call), call + 2)
        service.findings(uri)
      },
      call => findingsOfTwin(changed(theirs, call)),
    ],
    4 * size.rounds,
  )
  return compared('one character to fresh findings, in process', a, b, 0.1)
}

async function format(size: Size): Promise<Row> {
  const ours = longText(size.lines)
  const laidOut = JSON.stringify(JSON.parse(twinText(upTo(profilesIn(ours)))), undefined, 2)
  const [a, b] = await byTurns(
    [
      call => {
        if (formatEdits(parseFile(renamed(ours, call))).length > 0) throw new Error('laid out already')
      },
      call => {
        if (editsOfTwin(renamed(laidOut, call)) > 0) throw new Error('laid out already')
      },
    ],
    size.rounds,
  )
  return compared('format, nothing to change', a, b, 1)
}

/** Another bench each time, as after an edit, so that nothing prepared before is of use. */
const fresh = (bench: Bench, call: number): Bench => ({
  ...bench,
  part: { ...bench.part, switchingNf: bench.part.switchingNf * (1 + (call % 1000) * 1e-6) },
})

/** Settled predictions a second, and how many times as many as by the integrator. @param when follows what a row is called */
function model(size: Size, when: string): readonly Row[] {
  const bench = benchWith()
  const volts = settle(bench, allCores, room)?.setV ?? 0
  const perSecond = (work: (call: number) => unknown, calls: number): number => {
    const cpu = process.threadCpuUsage()
    for (let call = 0; call < calls; call++) work(call)
    const { user, system } = process.threadCpuUsage(cpu)
    return calls / ((user + system) / 1e6)
  }
  const rates: { ours: number; theirs: number }[] = []
  for (let round = 0; round < 2 * size.rounds; round++) {
    const ours = perSecond(call => settle(fresh(bench, call), { ...allCores }, room), 20_000)
    const theirs = perSecond(call => integrated(fresh(bench, call), room, 49, volts), 30)
    // The first half warms up.
    if (round >= size.rounds) rates.push({ ours, theirs })
  }
  const row = (name: string, value: Spread, goal: number, unit: string): Row => ({
    name,
    value,
    goal,
    unit,
    better: 'more',
    beside: `${size.rounds} rounds, processor time`,
  })
  const [ours, theirs] = [spreadOf(rates.map(rate => rate.ours)), spreadOf(rates.map(rate => rate.theirs))]
  return [
    row(`settled predictions, new loop bench each${when}`, ours, 400_000, 'a second'),
    row(`the same against the integrator \`odex\`${when}`, ratioOf(ours, theirs), 1000, 'times'),
  ]
}

/** Every core count of two kinds of work more, which brings the folder to some 25,000 predictions. */
const manyLoads = `
load climb { cores 1 to 12; activity 0.7 }
load crawl { cores 1 to 2; activity 0.4 }
`

export async function inProcess(size: Size, say: (row: Row) => void): Promise<void> {
  // First of all: once a check has kept what it settled, V8 keeps whatever settles later as well, until a full collection.
  for (const row of model(size, '')) say(row)
  say(await whole(size, 'parse + check', pairOf(size.lines)))
  say(await whole(size, 'the same, each profile with a limit of its own', unlikePairOf(size.lines, ownLimit)))
  say(await whole(size, 'the same, each with a fan table of its own', unlikePairOf(size.lines, ownFan)))
  say(await folder(size, '20 files with links', folderOf(size, ''), 1))
  say(await folder(size, '20 files', folderOf(size, manyLoads), 8))
  say(await folder(size, 'the same, each profile with a limit of its own', folderOf(size, manyLoads, ownLimit), 8))
  say(await folder(size, 'the same, each with a fan table of its own', folderOf(size, manyLoads, ownFan), 8))
  say(await edit(size))
  for (const row of await groupsEdit(size)) say(row)
  say(await format(size))
  for (const row of model(size, ', after all of the above')) say(row)
}
