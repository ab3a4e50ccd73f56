import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { createService } from '../../server/service.ts'
import { memoryFiles } from '../harness/file-systems.ts'
import { root } from '../harness/sources.ts'

/** Numbers that nobody means, but that fingers type: none of them may cost more than its own line. */

const examples = join(root, 'grammar', 'examples')
const first = readFileSync(join(examples, 'first.detent'), 'utf8')
const bench = readFileSync(join(examples, 'bench', 'bench.detent'), 'utf8')
const stack = readFileSync(join(examples, 'bench', 'plate-stack.detent'), 'utf8')

async function found(text: string, beside?: string): Promise<readonly { code: string; message: string }[]> {
  const uri = 'file:///huge/main.detent'
  const service = createService(
    memoryFiles({ [uri]: text, ...(beside === undefined ? {} : { 'file:///huge/bench.detent': beside }) }),
  )
  await service.workspace.load([uri])
  service.findings(uri)
  service.runs.makeAll()
  const uris = beside === undefined ? [uri] : [uri, 'file:///huge/bench.detent']
  return uris.flatMap(one => service.findings(one).map(({ finding }) => finding))
}

/** The text with each of its numbers absurd in turn: large and small by turns. */
function* absurd(text: string): Iterable<string> {
  let large = true
  for (const { 0: digits, index } of text.matchAll(/(?<![\w.-])\d+(?:\.\d+)?/g)) {
    yield text.slice(0, index) + (large ? '99999999' : '0.00000001') + text.slice(index + digits.length)
    large = !large
  }
}

describe('a number beyond what a double holds', () => {
  const huge = '9'.repeat(400)
  it('is never shown as the infinity that it becomes', { timeout: 180_000 }, async () => {
    const places = [...first.matchAll(/(?<![\w.-])\d+(?:\.\d+)?/g)]
    expect(places.length).toBeGreaterThan(20)
    for (const { 0: digits, index } of places) {
      const findings = await found(first.slice(0, index) + huge + first.slice(index + digits.length))
      expect(findings.map(({ message }) => message).join('\n')).not.toMatch(/Infinity|NaN/)
    }
  })

  it('is far from what is usual, and quoted in short', async () => {
    const part = bench.replace('needs-slope 0.3 mV/K', `needs-slope 1${'0'.repeat(400)} mV/K`)
    expect((await found(part)).map(({ message }) => message)).toEqual([
      expect.stringMatching(/^`10{14}…0{5} mV\/K` is far above what is usual for `needs-slope`/),
    ])
  })

  it('leaves room for the verdict, in whatever message, and so does a long name or text', async () => {
    const name = 'a'.repeat(400)
    const texts = [
      `load a { cores ${huge} }`,
      `load a { activity ${huge} }`,
      `load a { cores 1.${huge} }`,
      `part p { die-limit ${huge} W }`,
      `room r { air ${huge} °C to ${huge} °C }`,
      `part p { ${name} 5 }`,
      `part p { note “${name}” }`,
      `part p { die-limit 9 ${'C'.repeat(400)} }`,
      `profile b based-on ${name} { }`,
      `allow ${name} "x"`,
    ]
    for (const text of texts) {
      const messages = (await found(`detent 1\n${text}\n`)).map(({ message }) => message)
      expect(messages.length).toBeGreaterThan(0)
      for (const [quote] of messages.join('\n').matchAll(/`[^`\n]*`/g)) expect(quote.length, quote).toBeLessThan(62)
    }
  })

  it('as the version is a finding of its line', async () => {
    const findings = await found(first.replace('detent 1', `detent ${huge}`))
    const others = (await found(first)).map(({ code }) => code)
    expect(findings.map(({ code }) => code)).toEqual(['value-range', ...others])
  })
})

describe('a number that is absurd', () => {
  it.each([
    ['a step', first.replace('2 cores   52x', '2 cores   99999999x')],
    ['the ratios of a part', first.replace('8x to 58x', '8x to 99999999x')],
    ['the step of the ratios', first.replace('  ratio 8x to 58x\n', '  ratio 8x to 58x\n  ratio-step 0.0000001x\n')],
    ['a time that must be held', first.replace('>= 5.0 GHz', '>= 5.0 GHz for 99999 h')],
    [
      'the time of a limit',
      first.replace('  voltage {', '  limits { sustained-power 100 W over 99999 h }\n  voltage {'),
    ],
  ])('of %s is a finding', async (_, text) => {
    expect(text).not.toBe(first)
    const codes = (await found(text)).map(({ code }) => code)
    expect(codes).toContain('value-range')
  })

  it('tells the bound in the unit of a person', async () => {
    const findings = await found(first.replace('>= 5.0 GHz', '>= 5.0 GHz for 25 h'))
    expect(findings.find(({ code }) => code === 'value-range')?.message).toContain('at most 24 h')
  })

  it.each<[string, string, (text: string) => readonly [main: string, beside?: string]]>([
    ['first', first, text => [text]],
    ['plates', stack, text => [text, bench]],
    ['the bench below plates', bench, text => [stack, text]],
  ])('anywhere in %s is borne', { timeout: 120_000 }, async (_, text, placed) => {
    let [tried, findings] = [0, 0]
    for (const one of absurd(text)) {
      findings += (await found(...placed(one))).length
      tried++
    }
    expect(tried).toBeGreaterThan(40)
    // Each has a finding of its own; what it would do to the bench is not reported as well.
    expect(findings).toBeGreaterThanOrEqual(tried)
  })
})
