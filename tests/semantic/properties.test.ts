import { readdirSync, readFileSync } from 'node:fs'
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { parseFile } from '../../grammar/file.ts'
import type { Statement } from '../../grammar/tree.ts'
import { settle, setVoltageRows, setVoltageV } from '../../server/model/index.ts'
import type { Bench } from '../../server/model/types.ts'
import { allFiguresOf, createService } from '../../server/service.ts'
import { demo, edited, findingsOf } from '../checks/demo.ts'
import { memoryFiles } from '../harness/file-systems.ts'
import { allWanted, sampleOf } from '../oracle/generate.ts'

/** What must hold of predictions and findings whatever the bench. */

const folder = new URL('../../grammar/examples/bench/', import.meta.url)
const names = readdirSync(folder).filter(name => name.endsWith('.detent'))
const originals = new Map(names.map(name => [name, readFileSync(new URL(name, folder), 'utf8')]))

/** All predictions of all profiles of these files, as the command would list them but for the files' names. */
async function predicted(files: ReadonlyMap<string, string>): Promise<string[]> {
  const uri = (name: string): string => `file:///bench/${name}`
  const service = createService(memoryFiles(Object.fromEntries([...files].map(([name, text]) => [uri(name), text]))))
  await service.workspace.load([...files.keys()].map(uri))
  const rows = [...files.keys()].flatMap(name => service.evaluations(uri(name)).flatMap(allFiguresOf))
  return rows.map(row => JSON.stringify(row)).sort()
}

/** A text with the statements of every block, and the definitions of the file, in another order. */
function shuffled(text: string, random: () => number): string {
  const order = <T>(list: readonly T[]): T[] =>
    list
      .map(one => [random(), one] as const)
      .sort(([a], [b]) => a - b)
      .map(([, one]) => one)
  const chunks = parseFile(text).chunks.map(({ chunk }) => chunk)
  const print = (source: string, statement: Statement): string => {
    const { block } = statement
    if (block === undefined) return source.slice(statement.start, statement.end)
    const head = source.slice(statement.start, block.start).trimEnd()
    return `${head} {\n${order(block.statements)
      .map(one => print(source, one))
      .join('\n')}\n}`
  }
  const printed = chunks.map(({ text: source, statements }) => statements.map(one => print(source, one)))
  const [first = [], ...definitions] = printed
  return [...first, ...order(definitions.flat())].join('\n')
}

describe('predictions', () => {
  it('do not depend on the order of statements, definitions or files', { timeout: 180_000 }, async () => {
    const expected = await predicted(originals)
    expect(expected.length).toBeGreaterThan(50)
    await fc.assert(
      fc.asyncProperty(fc.infiniteStream(fc.double({ min: 0, max: 1, noNaN: true })), async stream => {
        const random = (): number => stream.next().value
        const entries = [...originals].map(([name, text]) => [random(), name, shuffled(text, random)] as const)
        const files = new Map(entries.sort(([a], [b]) => a - b).map(([, name, text]) => [name, text]))
        expect([...files.values()].join()).not.toBe([...originals.values()].join())
        expect(await predicted(files)).toEqual(expected)
      }),
      { numRuns: 12 },
    )
  })

  it('are never better in the worst corner of a wider room', () => {
    let compared = 0
    for (let seed = 0; seed < 220; seed++) {
      const wanted = allWanted[seed % allWanted.length] as (typeof allWanted)[number]
      // A fan that slows down as the coolant warms, or a warmer target in drier air, is beside this property.
      if (wanted.fan === 'falling') continue
      const { bench, load, corner } = sampleOf(seed, wanted)
      if (load.kind !== 'work') continue
      // The clock, not the die: a band that a warmer room reaches makes the die cooler, at the clock's expense.
      const worst = (widerK: number): number => {
        const airs = [corner.airC - widerK, corner.airC + widerK]
        const settled = airs.map(airC => settle(bench, load, { ...corner, airC }))
        return Math.min(...settled.map(one => one?.clockMhz ?? 0))
      }
      expect(worst(5), `seed ${seed}`).toBeLessThanOrEqual(worst(2) + 1e-3)
      compared++
    }
    expect(compared).toBeGreaterThan(100)
  })
})

/** The bench with every step lower by so many ratio-steps. */
function lowered(bench: Bench, by: number): Bench {
  const { part, profile } = bench
  const steps = profile.steps.map(row => ({ ...row, ratio: row.ratio - by * part.ratioStep }))
  return { ...bench, profile: { ...profile, steps } }
}

/** Whether more clock always asks for at least as much voltage: a person may enter rows for which it does not. */
function isRising({ part, profile, board }: Bench): boolean {
  const rows = setVoltageRows(part, profile.voltage)
  for (let ratio = part.ratioLow; ratio < part.ratioHigh; ratio += part.ratioStep) {
    if (setVoltageV(rows, board, ratio + part.ratioStep) < setVoltageV(rows, board, ratio)) return false
  }
  return true
}

describe('lower steps', () => {
  it('never raise the die temperature', () => {
    let compared = 0
    let cooler = 0
    for (let seed = 0; seed < 400; seed++) {
      const wanted = allWanted[seed % allWanted.length] as (typeof allWanted)[number]
      if (wanted.fan === 'falling') continue
      const { bench, load, corner } = sampleOf(seed, wanted)
      if (load.kind !== 'work' || !isRising(bench)) continue
      const before = settle(bench, load, corner)
      if (before === null) continue
      for (const by of [1, 3, 8]) {
        const after = settle(lowered(bench, by), load, corner)
        if (after === null) continue
        const [hotC, lessC] = [before.dieC ?? Number.POSITIVE_INFINITY, after.dieC ?? Number.POSITIVE_INFINITY]
        // A band that is left late keeps the die below its threshold by up to `return`; below the band it may go up to it.
        expect(lessC, `seed ${seed}, ${by} steps lower`).toBeLessThanOrEqual(hotC + bench.profile.returnK + 1e-6)
        compared++
        if (lessC < hotC - 0.01) cooler++
      }
    }
    expect(compared).toBeGreaterThan(300)
    expect(cooler).toBeGreaterThan(100)
  })
})

describe('findings', () => {
  const ranks: Readonly<Record<string, number>> = { none: 0, hint: 1, information: 2, warning: 3, error: 4 }
  const worstOf = async (text: string): Promise<number> => {
    const found = [...(await findingsOf('condensation', text)), ...(await findingsOf('frost', text))]
    return Math.max(0, ...found.map(({ finding }) => ranks[finding.severity] ?? Number.NaN))
  }

  it('are never worse with more margin to the dew point', async () => {
    const text = demo('condensation')
    const humidity = /humidity [^\n]*/.exec(text)?.[0] ?? ''
    const severities: number[] = []
    for (const percent of [90, 70, 55, 45, 35, 25, 15, 5])
      severities.push(await worstOf(edited(text, [humidity, `humidity ${percent} %`])))
    expect(severities).toEqual([...severities].sort((a, b) => b - a))
    expect(severities[0]).toBe(4)
    expect(severities.at(-1)).toBe(0)
  })

  it('are never worse where the drive keeps more distance to the wet point', async () => {
    const text = demo('condensation')
    const colderFirst = async (drives: readonly string[]): Promise<readonly number[]> => {
      const severities: number[] = []
      for (const drive of drives) severities.push(await worstOf(edited(text, ['drive hold 8 °C', `drive ${drive}`])))
      return severities
    }
    const held = await colderFirst([-12, -2, 0.5, 4, 8, 12, 14.2, 14.6, 16, 20].map(celsius => `hold ${celsius} °C`))
    expect(held).toEqual([...held].sort((a, b) => b - a))
    expect([held[0], held.at(-1)]).toEqual([4, 0])
    const guarded = await colderFirst([0, 0.5, 1, 2, 3, 6].map(kelvin => `dew + ${kelvin} K`))
    expect(guarded).toEqual([...guarded].sort((a, b) => b - a))
  })

  it.each([
    'condensation',
    'frost',
    'off-condensation',
    'cooler-overload',
    'over-limit',
    'thermal-runaway',
    'runaway-near',
    'supply-short',
    'expect-failed',
  ])('of %s stay in a wider room', async code => {
    const text = demo(code)
    const widen = (line: string, by: number, low: number, high: number): string => {
      const [from = 0, to = from] = [...line.matchAll(/[\d.]+/g)].map(Number)
      const unit = line.includes('%') ? '%' : '°C'
      return `${line.split(' ')[0]} ${Math.max(low, from - by)} ${unit} to ${Math.min(high, to + by)} ${unit}`
    }
    const wider = text
      .replace(/air [^\n;}]*/, line => widen(line, 4, -40, 60))
      .replace(/humidity [^\n;}]*/, line => widen(line, 10, 1, 100))
    expect(wider).not.toBe(text)
    const ranksIn = async (source: string): Promise<number> =>
      Math.max(0, ...(await findingsOf(code, source)).map(({ finding }) => ranks[finding.severity] ?? Number.NaN))
    const before = await ranksIn(text)
    expect(before).toBeGreaterThan(0)
    expect(await ranksIn(wider)).toBeGreaterThanOrEqual(before)
  })

  it('are never worse where a limit leaves more room', async () => {
    const text = demo('cooler-overload')
    const found: number[] = []
    for (const watts of [60, 80, 90, 110, 140]) {
      const more = edited(text, ['rating 90 W', `rating ${watts} W`])
      found.push((await findingsOf('cooler-overload', more)).length)
    }
    expect(found).toEqual([...found].sort((a, b) => b - a))
    expect([found[0], found.at(-1)]).toEqual([2, 0])
  })
})
