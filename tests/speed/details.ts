/** What each thing costs, one by one: `npm run bench -- --details`. */

import { parseFile } from '../../grammar/file.ts'
import { formatEdits } from '../../grammar/printer.ts'
import { settle, settlingOnce } from '../../server/model/settle.ts'
import { finished } from '../../server/model/slices.ts'
import { simulate } from '../../server/model/transient/simulate.ts'
import type { Bench } from '../../server/model/types.ts'
import { propagateInSlices } from '../../server/model/uncertainty.ts'
import { createService, nextTrials, type Service } from '../../server/service.ts'
import { memoryFiles } from '../harness/file-systems.ts'
import { allCores, benchWith, fanTable, plateCooler, room } from '../model/transient-bench.ts'
import { allWanted, sampleOf, type Wanted } from '../oracle/generate.ts'
import { measureLogs } from './logs.ts'
import { measureAgainst } from './older.ts'
import { integrated, iterated } from './rivals.ts'
import { msPerCall, quantile, sortedMs, sortedMsByTurns } from './rounds.ts'
import { benchText, longText, profileText, triedText, withKnown } from './texts.ts'
import { measureViews } from './views.ts'

const say = (line = ''): void => {
  process.stdout.write(`${line}\n`)
}
const ms = (value: number): string => (value < 0.1 ? `${(value * 1000).toFixed(1)} µs` : `${value.toFixed(2)} ms`)
const row = (name: string, value: string, note = ''): void => say(`  ${name.padEnd(52)} ${value.padStart(16)}  ${note}`)

/** Another bench each time, as after an edit, so that nothing prepared before is of use. */
const fresh = (bench: Bench, call: number): Bench => ({
  ...bench,
  part: { ...bench.part, switchingNf: bench.part.switchingNf * (1 + (call % 1000) * 1e-6) },
})

function predictions(): void {
  say('Settled predictions with ladder, limits and margin; a new bench each time')
  const benches: readonly (readonly [string, Bench])[] = [
    ['loop', benchWith()],
    [
      'thermoelectric plate, fan table, dew guard',
      benchWith({
        cooler: plateCooler,
        profile: { fan: fanTable, drive: { kind: 'dew', marginK: 2 } },
        part: { switchingNf: 1.7 },
      }),
    ],
  ]
  for (const [name, bench] of benches) {
    const settled = settle(bench, allCores, room)
    const volts = settled?.setV ?? 0
    const here = msPerCall(call => settle(fresh(bench, call), { ...allCores }, room))
    row(name, `${(1000 / here).toFixed(0)} a second`, `${ms(here)} each, ${settled?.state}`)
    const kept = msPerCall(call => settle(bench, allCores, { ...room, airC: room.airC + (call % 1000) * 1e-4 }))
    row('  the same bench in other air', `${(1000 / kept).toFixed(0)} a second`, `${ms(kept)} each`)
    for (const [rival, solve] of [
      ['  odex, tolerance 1e-8, over 3,600 s', integrated],
      ['  plain fixed-point iteration to 1e-9', iterated],
    ] as const) {
      const theirs = msPerCall(call => solve(fresh(bench, call), room, 49, volts))
      const apart = Math.abs(solve(bench, room, 49, volts).dieC - (settled?.dieC ?? Number.NaN))
      const longer = `${(theirs / here).toFixed(1)} times as long, ${(theirs / kept).toFixed(1)} times the same bench`
      const ratio = `${longer}; die ${apart.toExponential(1)} K beside`
      row(rival, `${(1000 / theirs).toFixed(0)} a second`, ratio)
    }
  }
}

/** One kind of cooler and drive among the random benches of the tests' generator. */
interface KindTimes {
  readonly name: string
  readonly sorted: readonly number[]
  readonly dearest: number
}

/** Every load of the generator's benches settled from nothing, by kind of cooler and drive. */
function timesByKind(benchesAKind: number): readonly KindTimes[] {
  const kindOf = ({ cooler, drive }: Wanted): string => (cooler === 'thermoelectric' ? `plate, ${drive}` : cooler)
  return [...new Set(allWanted.map(kindOf))].map(name => {
    const seeds = allWanted.flatMap((wanted, index) =>
      kindOf(wanted) === name
        ? Array.from({ length: benchesAKind }, (_, turn) => ({ seed: index + turn * allWanted.length, wanted }))
        : [],
    )
    const all = seeds.map(({ seed, wanted }) => ({ seed, ...sampleOf(seed, wanted) }))
    const once = (): readonly { readonly seed: number; readonly ms: number }[] =>
      all.map(({ seed, bench, load, corner }) => {
        const [made, other] = [{ ...bench }, { ...load }]
        const start = performance.now()
        settle(made, other, corner)
        return { seed, ms: performance.now() - start }
      })
    // The least of several rounds: what else the machine does is no part of a prediction.
    const rounds = [once(), once(), once(), once(), once()].slice(1)
    const least = all.map(({ seed }, at) => ({ seed, ms: Math.min(...rounds.map(round => round[at]?.ms ?? 0)) }))
    const sorted = [...least].sort((a, b) => a.ms - b.ms)
    return { name, sorted: sorted.map(({ ms }) => ms), dearest: sorted.at(-1)?.seed ?? 0 }
  })
}

function kinds(benchesAKind: number): void {
  say(`Settled predictions on random benches, ${3 * benchesAKind} of each kind, from nothing; the least of four rounds`)
  for (const { name, sorted, dearest } of timesByKind(benchesAKind)) {
    const [p99, most] = [quantile(sorted, 0.99), sorted.at(-1) ?? 0]
    row(name, `p50 ${ms(quantile(sorted, 0.5))}`, `p99 ${ms(p99)}  max ${ms(most)} (seed ${dearest})`)
  }
}

/** What one `±` of a part costs where draws decide: 2,000 settled benches, with their margins or without. */
function draws(): void {
  say('An interval by 2,000 draws, one constant of the part uncertain')
  const limits = { sustainedPowerW: 150, burstPowerW: 190, currentA: 160 }
  const board = { loadLineOhm: 1.5e-4 }
  const benches: readonly (readonly [string, Bench])[] = [
    ['loop', benchWith({ profile: { fan: fanTable, limits }, board })],
    [
      'thermoelectric plate, dew guard',
      benchWith({
        cooler: plateCooler,
        profile: { fan: fanTable, limits, drive: { kind: 'dew', marginK: 2 } },
        board,
      }),
    ],
  ]
  for (const [name, bench] of benches) {
    const once = settlingOnce(room)
    const moved = ([by = 0]: readonly number[]): Bench => ({
      ...bench,
      part: { ...bench.part, switchingNf: bench.part.switchingNf + by },
    })
    const of = (shifts: readonly number[]) => once.withMargin(moved(shifts), allCores)
    const without = (shifts: readonly number[]) => once.withoutMargin(moved(shifts), allCores)
    const timed = (quick?: typeof without): string =>
      ms(msPerCall(() => finished(propagateInSlices(of, { standard: [0.05] }, quick)), { rounds: 3, roundMs: 400 }))
    row(name, timed(without), `${timed()} with margins`)
  }
}

/** Findings after an edit of one character, the ratio of one step row, to and fro. */
function editing(service: Service, uri: string, text: string, place: number): (call: number) => void {
  let version = 1
  return call => {
    const digit = String(3 + (call % 5))
    service.workspace.set(uri, text.slice(0, place) + digit + text.slice(place + 1), ++version)
    service.findings(uri)
  }
}

/** Where the last digit of the middle profile's all-core ratio stands. */
function middleRatio(text: string): number {
  const middle = text.indexOf('\nprofile', Math.floor(text.length / 2))
  return text.indexOf('46x', middle) + 1
}

/** The same edit in one file of many, in a workspace of this many profiles. */
async function editingInCrowd(profiles: number): Promise<(call: number) => void> {
  const files: Record<string, string> = { 'file:///bench/bench.detent': benchText }
  for (let file = 0; file < profiles / 5; file++) {
    const own = Array.from({ length: 5 }, (_, index) => profileText(file * 5 + index)).join('')
    files[`file:///bench/file-${file}.detent`] = `detent 1\nuse "bench.detent"\n${own}`
  }
  const crowd = createService(memoryFiles(files))
  await crowd.workspace.load(Object.keys(files))
  for (const each of Object.keys(files)) crowd.findings(each)
  const first = 'file:///bench/file-0.detent'
  const text = files[first] as string
  return editing(crowd, first, text, middleRatio(text))
}

async function edits(): Promise<void> {
  say('From an edit of one character to fresh findings, predictions among them')
  const text = longText(1000)
  const uri = 'file:///bench/long.detent'
  const service = createService(memoryFiles({ [uri]: text }))
  await service.workspace.load([uri])
  const profiles = text.split('\nprofile ').length - 1
  const sorted = sortedMs(editing(service, uri, text, middleRatio(text)), 300)
  const found = service.findings(uri).length
  row('one file', `p50 ${ms(quantile(sorted, 0.5))}`, `p95 ${ms(quantile(sorted, 0.95))}`)
  row('', `${text.split('\n').length} lines`, `${profiles} profiles, ${found} findings`)

  const seen = await Promise.all(
    [text, withKnown(text)].map(async one => {
      const own = createService(memoryFiles({ [uri]: one }))
      await own.workspace.load([uri])
      return editing(own, uri, one, middleRatio(one))
    }),
  )
  const [without = 1, known = 0] = sortedMsByTurns(seen, 300).map(times => quantile(times, 0.5))
  row('with eight `known` points, by turns', `p50 ${ms(known)}`, `${(known / without).toFixed(2)} times without`)

  const counts = [5, 500]
  const crowds = await Promise.all(counts.map(editingInCrowd))
  const medians = sortedMsByTurns(crowds, 300).map((times, index) => {
    const name = `${counts[index]} profiles in the workspace, five a file`
    row(name, `p50 ${ms(quantile(times, 0.5))}`, `p95 ${ms(quantile(times, 0.95))}`)
    return quantile(times, 0.5)
  })
  const [few = 1, many = 0] = medians
  row('500 against 5, by turns', `${(many / few).toFixed(2)} times`)
}

/** What to try next: 5 ratios and one above, 19 voltages, 3 loads, 4 durations, from 500 draws. */
async function next(): Promise<void> {
  say('What to try next, nothing kept from before but what trials show')
  const uri = 'file:///bench/tried.detent'
  const service = createService(memoryFiles({ [uri]: triedText }))
  await service.workspace.load([uri])
  const [evaluation] = service.evaluations(uri)
  if (evaluation === undefined) throw new Error('no profile')
  const evidence = service.bench.evidence(evaluation.profile.part)
  const found = nextTrials(evaluation, evidence, 1, new Set())
  const each = msPerCall(() => nextTrials(evaluation, evidence, 1, new Set()))
  row('the best of some 340 voltages and loads', ms(each), `${found?.proposals.length} proposals`)
}

function texts(): void {
  say('A text of 1,000 lines, nothing kept from before')
  const text = longText(1000)
  // Every line set in by one space too many, so that each is an edit.
  const crooked = text.replaceAll('\n', '\n ')
  row('parse', ms(msPerCall(call => parseFile(`# ${call}\n${text.replaceAll('willow-12', `willow-${call}`)}`))))
  const twice = msPerCall(call => formatEdits(parseFile(`# ${call}\n${crooked.replaceAll('loft', `loft-${call}`)}`)))
  row('parse and format', ms(twice), `${formatEdits(parseFile(crooked)).length} edits`)
}

function runs(): void {
  say('A load over 15 minutes, in ticks of 10 ms, a new bench each time')
  const cases: readonly (readonly [string, Bench])[] = [
    ['loop that settles', benchWith({ profile: { fan: fanTable } })],
    ['loop at its die limit, alternating', benchWith({ profile: { fan: fanTable, limits: { dieC: 64 } } })],
    [
      'the same behind a load line',
      benchWith({ profile: { fan: fanTable, limits: { dieC: 64 } }, board: { loadLineOhm: 3e-4 } }),
    ],
    [
      'plate with dew guard',
      benchWith({ cooler: plateCooler, profile: { fan: fanTable, drive: { kind: 'dew', marginK: 2 } } }),
    ],
  ]
  for (const [name, bench] of cases) {
    const each = msPerCall(call => simulate(fresh(bench, call), allCores, room, { overS: 900 }), {
      rounds: 5,
      roundMs: 600,
    })
    row(name, ms(each))
  }
}

/** @param older another work tree of this project, whose predictions are measured beside these */
export async function measureDetails(older: string | undefined): Promise<void> {
  if (older !== undefined) {
    say(`Settled predictions against those of ${older}, by turns; medians`)
    await measureAgainst(older, row)
    say()
  }
  predictions()
  say()
  kinds(60)
  say()
  draws()
  say()
  await edits()
  say()
  await next()
  say()
  texts()
  say()
  runs()
  say()
  await measureLogs(100, say)
  say()
  await measureViews(say)
}
