import { readdirSync, readFileSync } from 'node:fs'
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { parseFile } from '../../grammar/file.ts'
import type { Statement } from '../../grammar/tree.ts'
import { settle } from '../../server/model/index.ts'
import { allFiguresOf, createService } from '../../server/service.ts'
import { memoryFiles } from '../../server/workspace/files.ts'
import { demo, edited, findingsOf } from '../checks/demo.ts'
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
  it('do not depend on the order of statements, definitions or files', { timeout: 60_000 }, async () => {
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
        // Where no ratio keeps `sustained-power` the ladder's clock stands and a finding says so: nothing is held there.
        return Math.min(...settled.map(one => (one === null || one.notes.sustainedOver ? 0 : (one.clockMhz ?? 0))))
      }
      expect(worst(5), `seed ${seed}`).toBeLessThanOrEqual(worst(2) + 1e-3)
      compared++
    }
    expect(compared).toBeGreaterThan(100)
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
})
