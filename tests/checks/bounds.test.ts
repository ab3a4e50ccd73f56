import { describe, expect, it } from 'vitest'
import { parseFile } from '../../grammar/file.ts'
import { format } from '../../grammar/printer.ts'
import { mostCharacters, mostInBlock, mostInherited, vocabulary } from '../../grammar/vocabulary/index.ts'
import { isSingle, singleSlots } from '../../grammar/vocabulary/slots.ts'
import type { Slot } from '../../grammar/vocabulary/types.ts'
import { memoryLogs } from '../../server/bench/log/source.ts'
import { createService } from '../../server/service.ts'
import { bench } from '../features/bench.ts'
import { memoryFiles } from '../harness/file-systems.ts'
import { growthOf, workOf } from '../harness/work.ts'

/** More cores than any part has, and the most that a file may count. */
const mostCores = 1024

/** Counts, ranges and repetitions beyond any bench: one finding each, for work that grows with the text alone. */

interface Checked {
  readonly codes: readonly string[]
  readonly messages: readonly string[]
}

async function checked(text: string): Promise<Checked> {
  const uri = 'file:///bench/a.detent'
  const service = createService(memoryFiles({ [uri]: text }), { logs: memoryLogs({}) })
  await service.workspace.load([uri])
  const found = service.findings(uri).map(({ finding }) => finding)
  const own = found.filter(({ code }) => code !== 'unused-name')
  return { codes: own.map(({ code }) => code), messages: own.map(({ message }) => message) }
}

/** Where a text is four times as long: sixteen times the work would be quadratic. */
const linear = 7

const profile = (rows: string, before = ''): string =>
  `${bench}\nprofile daily {\n  part sample-b7\n  cooler big-loop\n  room garage\n${before}  steps {\n${rows}\n  }\n}\n`
const whole = '    1 to 12 cores 50x'

/** Slots in which something is counted. */
function counting(slots: readonly Slot[]): readonly Slot[] {
  return slots.flatMap(slot => {
    if (!isSingle(slot)) return counting(singleSlots([slot]))
    const counts =
      slot.slot === 'cores' || slot.slot === 'count-range' || (slot.slot === 'number' && slot.whole === true)
    return counts ? [slot] : []
  })
}

describe('the vocabulary', () => {
  it('bounds everything that is counted', () => {
    const unbounded = vocabulary.flatMap(({ word, forms }) =>
      forms
        .flatMap(counting)
        .filter(slot => !('bounds' in slot) || slot.bounds?.max === undefined || slot.bounds.max > mostCores)
        .map(() => word),
    )
    // The version of the language has a bound of its own, and nothing is counted by it.
    expect(unbounded).toEqual(['detent'])
  })
})

describe('counts beyond any part', () => {
  const beyond = [
    ['steps', profile('    1 to 4294967296 cores 50x')],
    ['steps within a safe number', profile('    1 to 999999999 cores 50x')],
    ['bands', profile(whole, '  bands { 1 to 4294967296 cores above 60 °C -1x }\n')],
    ['a load', `${profile(whole)}load huge { cores 1 to 4294967296; activity 1 }\n`],
    ['a part', profile(whole).replace('cores 12\n', 'cores 4294967296\n')],
  ] as const
  it.each(beyond)('in %s are one finding', async (_name, text) => {
    const { codes } = await checked(text)
    expect(codes.filter(code => code === 'value-range')).toHaveLength(1)
  })

  it('take no more work than a part as it is', async () => {
    const texts = [profile(whole), ...beyond.map(([, text]) => text)]
    const [usual = 0, ...counts] = await workOf(texts.map(text => ({ what: 'check', text })))
    expect(usual).toBeGreaterThan(10_000)
    expect(counts).toHaveLength(beyond.length)
    for (const count of counts) expect(count).toBeLessThan(usual * 1.5)
  })

  it('the bound itself passes', async () => {
    const { codes } = await checked(profile(whole).replace('cores 12\n', `cores ${mostCores}\n`))
    expect(codes).not.toContain('value-range')
  })
})

describe('repetitions', () => {
  const many = 20_000
  const repeated: readonly (readonly [name: string, textOf: (times: number) => string])[] = [
    ['rows of a table', times => profile('    1 cores 50x\n'.repeat(times))],
    ['rows of needs', times => profile(whole).replace('needs {', `needs {\n${'    36x 0.98 V\n'.repeat(times)}`)],
    ['accepted findings', times => profile(whole, '  allow frost "x"\n'.repeat(times))],
    ['expectations', times => profile(whole, '  expect render die <= 80 °C\n'.repeat(times))],
    ['one key', times => profile(whole).replace('cores 12\n', 'cores 12; '.repeat(times))],
    [
      'columns of a log',
      times =>
        `${profile(whole)}run r of daily under render {\n  log "a.csv" {\n${'    column power "x" W\n'.repeat(times)}  }\n}\n`,
    ],
  ]
  it.each(repeated)('of %s are read up to a bound, with one finding beyond it', async (_name, textOf) => {
    const { codes, messages } = await checked(textOf(many))
    expect(messages.filter(message => message.startsWith('Not read from here on'))).toHaveLength(1)
    expect(codes.length).toBeLessThan(mostInBlock + 20)
  })

  it('take work in proportion to the text', async () => {
    const growths = await growthOf(
      'check',
      repeated.map(([, textOf]) => textOf),
      1_500,
      4,
    )
    for (const [at, growth] of growths.entries()) expect(growth, repeated[at]?.[0]).toBeLessThan(linear)
  })

  it('as many as the bound are all read', async () => {
    const { messages } = await checked(profile(whole, '  allow frost "x"\n'.repeat(mostInBlock)))
    expect(messages.filter(message => message.startsWith('Not read from here on'))).toEqual([])
    const [more] = [await checked(profile(whole, '  allow frost "x"\n'.repeat(mostInBlock + 1)))]
    expect(more.messages.filter(message => message.startsWith('Not read from here on'))).toHaveLength(1)
  })
})

describe('a text longer than any bench', () => {
  const tokensIn = (text: string): number =>
    parseFile(text).chunks.reduce((sum, { chunk }) => sum + chunk.tokens.length, 0)
  const long = `${profile(whole)}${`# ${'a'.repeat(97)}\n`.repeat(mostCharacters / 100)}room unread {`

  it('of ten million signs has one finding, and is not taken apart', async () => {
    const text = '-'.repeat(10_000_000)
    const { codes, messages } = await checked(text)
    expect(codes).toEqual(['syntax'])
    expect(messages[0]).toContain(`Not read from here on: a file is read up to ${mostCharacters} characters`)
    expect(tokensIn(text)).toBe(1)
    expect(tokensIn('-'.repeat(mostCharacters))).toBe(mostCharacters)
  })

  it('is read up to the line that crosses the bound', async () => {
    const { codes, messages } = await checked(long)
    expect(codes).toEqual((await checked(profile(whole))).codes.concat('syntax'))
    expect(messages.at(-1)).toMatch(/^Not read from here on/)
    const { chunks } = parseFile(long)
    const { start = 0 } = chunks.at(-1) ?? {}
    expect(long.charAt(start - 1)).toBe('\n')
    expect(mostCharacters - start).toBeLessThan(100)
  })

  it('is formatted where it is read, and stays as it is behind that', () => {
    const untidy = long.replace('  garage', '   garage').replace('room unread {', 'room   unread {')
    const formatted = format(parseFile(untidy))
    expect(formatted.endsWith('\nroom   unread {')).toBe(true)
    expect(formatted.startsWith(format(parseFile(profile(whole))))).toBe(true)
  })

  it('is read whole once it is short enough', () => {
    const before = parseFile(long)
    const short = long.slice(-300)
    const after = parseFile(short, before)
    expect(after).toEqual(parseFile(short))
    const unread = long.slice(before.chunks.at(-1)?.start)
    expect(parseFile(unread, before)).toEqual(parseFile(unread))
  })
})

describe('a chain of profiles that start from each other', () => {
  const chain = (count: number): string =>
    profile(whole) +
    Array.from(
      { length: count },
      (_, at) => `profile p${at + 1} based-on ${at === 0 ? 'daily' : `p${at}`} { vector -1x }\n`,
    ).join('')

  it('is followed up to a bound', async () => {
    expect((await checked(chain(mostInherited))).codes).not.toContain('based-on-cycle')
  })

  it('has one finding beyond it, whatever the order in the file', async () => {
    const { codes, messages } = await checked(chain(mostInherited + 3))
    expect(codes.filter(code => code === 'based-on-cycle')).toHaveLength(1)
    expect(messages.find(message => message.startsWith(`\`p${mostInherited + 1}\` starts from`))).toContain(
      `${mostInherited} are followed`,
    )
    const backwards = chain(mostInherited + 3).split(/\n(?=profile p)/)
    const { codes: again } = await checked(`${[backwards[0], ...backwards.slice(1).reverse()].join('\n')}\n`)
    expect(again.filter(code => code === 'based-on-cycle')).toHaveLength(1)
  })

  const circle = (count: number): string =>
    chain(count).replace('profile daily {', `profile daily based-on p${count} {`)

  it('of three thousand has one finding, and so has a circle of them', async () => {
    for (const text of [chain(3_000), circle(3_000)]) {
      const { codes } = await checked(text)
      expect(codes.filter(code => code === 'based-on-cycle')).toHaveLength(1)
    }
  })

  it('takes work in proportion to its length, and so does a circle', async () => {
    const growths = await growthOf('check', [chain, circle], 200, 4)
    for (const growth of growths) expect(growth).toBeLessThan(linear)
  })
})

describe('the work grows with the text alone', () => {
  const texts: readonly (readonly [name: string, textOf: (size: number) => string])[] = [
    ['signs', size => '-'.repeat(size * 10)],
    ['statements on one line', size => `part a { ${'cores 2; '.repeat(size)}}\n`],
    ['definitions on one line', size => 'load a { cores 1 }; '.repeat(size)],
    ['braces in braces', size => `part a ${'{'.repeat(size)}`],
    ['accepted findings of the file', size => `${'allow frost "x"\n'.repeat(size)}${bench}`],
    ['lines that do not read', size => '-\n'.repeat(size)],
    ['temperatures in a foreign unit', size => `room a {\n${'  air 70 °F\n'.repeat(size)}}\n`],
    ['unknown words', size => `part a {\n${'  foo 1\n'.repeat(size)}}\n`],
    ['used files', size => Array.from({ length: size }, (_, at) => `use "f${at}.detent"\n`).join('')],
  ]

  it('for each of them', async () => {
    const growths = await growthOf(
      'check',
      texts.map(([, textOf]) => textOf),
      1_000,
      4,
    )
    for (const [at, growth] of growths.entries()) expect(growth, texts[at]?.[0]).toBeLessThan(linear)
    // A count that misses the work would not grow at all.
    for (const [at, growth] of growths.entries()) expect(growth, texts[at]?.[0]).toBeGreaterThan(2)
  })

  it.each(texts)('%s, twenty thousand of them, do not overflow', async (_name, textOf) => {
    expect(await checked(textOf(20_000))).toBeDefined()
  })

  it('a hundred thousand statements on one line are read', async () => {
    const { codes } = await checked(`part a { ${'cores 2; '.repeat(100_000)}}\n`)
    expect(codes).toContain('value-range')
  })

  it('as many tokens as are read do not overflow', async () => {
    const { codes } = await checked('-'.repeat(mostCharacters))
    expect(codes).toContain('syntax')
  })
})
