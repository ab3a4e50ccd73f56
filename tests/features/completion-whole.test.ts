import { describe, expect, it } from 'vitest'
import { parseFile } from '../../grammar/file.ts'
import { format } from '../../grammar/printer.ts'
import type { Completion, CompletionTrigger } from '../../server/features/completion/types.ts'
import { loadAtCursor, loadFixture, uriOf } from '../harness/fixture.ts'
import { bench } from './bench.ts'

/** Completion where a word is whole, and of whole definitions. */

async function offered(text: string, trigger: CompletionTrigger = 'invoked'): Promise<readonly Completion[]> {
  const { service, cursor } = await loadAtCursor(text)
  return service.features.completions(cursor.uri, cursor.offset, trigger)
}

async function labels(text: string, trigger?: CompletionTrigger): Promise<readonly string[]> {
  return [...(await offered(text, trigger))].sort((a, b) => a.rank - b.rank).map(one => one.label)
}

describe('a whole word or unit', () => {
  const profile = (line: string): string => `${bench}profile q {\n  part sample-b7\n  ${line}\n}\n`

  it.each([
    ['cooler c kind loop { radiator {\n 100 % 0.150 K/W$0\n } }\n'],
    ['room r {\n  air 95 degC$0\n}\n'],
    ['room r {\n  air 95 °C$0\n}\n'],
    ['room r {\n  air 95 ℃$0\n}\n'],
    ['board b {\n  load-line 0.4 mohm$0\n}\n'],
    ['part p {\n  reference 100 MHz$0\n}\n'],
    ['part p {\n  needs$0\n}\n'],
    ['room r {\n  humidity 45 %$0\n}\n'],
    ['cooler c kind air$0'],
    ['pro$0file'],
    ['profile$0'],
    ['allow steps-gap$0'],
    [profile('cooler big-loop$0')],
    [profile('expect pair$0')],
    [profile('steps { 1 to 2 core$0 }')],
    [profile('steps { 1 to 2 cores$0 }')],
    [profile('limits { sustained-power 190 W over 30 s$0 }')],
  ])('has nothing offered behind it: %j', async text => {
    const all = await labels(text)
    if (text.includes('pro$0file')) expect(all).toContain('profile')
    else expect(all).toEqual([])
  })

  it.each([
    ['cooler c kind loop { radiator {\n 100 % 0.150 K$0\n } }\n', 'K/W'],
    ['room r {\n  air 95 deg$0\n}\n', '°C'],
    ['part p {\n  needs-a$0\n}\n', 'needs-at'],
    ['part p {\n  reference 100 M$0\n}\n', 'MHz'],
  ])('is not there yet: %j still has %s', async (text, label) => {
    expect(await labels(text)).toContain(label)
  })

  it.each([
    ['part p {\n  switching 2.1 nF $0\n}\n', '±'],
    ['room r {\n  air 18 °C $0\n}\n', 'to'],
    [profile('limits { sustained-power 190 W $0 }'), 'over'],
    [profile('voltage { core needs $0 }'), '+'],
  ])('with a space behind it may be the end: %j has %s only for who asks', async (text, label) => {
    expect(await labels(text, 'space')).toEqual([])
    expect(await labels(text)).toContain(label)
  })

  it('with a space behind it leads on where something must follow', async () => {
    expect(await labels(profile('steps { 1 to 2 $0 }'), 'space')).toContain('cores')
    expect(await labels('profile night $0', 'space')).toEqual(['based-on'])
  })
})

describe('whole definitions', () => {
  const filled = (snippet: string): string =>
    snippet.replace(/\$\{\d+\|([^,|}]*)[^}]*\|\}/g, '$1').replace(/\$\{\d+:([^}]*)\}/g, '$1')
  const whole = async (text: string): Promise<readonly Completion[]> =>
    (await offered(text)).filter(one => one.kind === 'row')

  it('are offered where a definition begins, and nowhere else', async () => {
    expect((await whole('detent 1\n\nco$0\n')).map(one => one.label)).toContain('cooler of air or liquid')
    for (const inside of [
      'profile q {\n  coo$0\n}\n',
      'profile q {\n  cooler c\n  coo$0\n}\n',
      'room r {\n  air 60 $0\n}\n',
    ])
      expect([inside, (await offered(inside)).filter(one => one.kind === 'row')]).toEqual([inside, []])
  })

  it('are formatted, and together make a bench without an error, which predicts', async () => {
    const items = await whole('$0')
    expect(items).toHaveLength(8)
    const texts = items.map(({ text, snippet }) => {
      expect(filled(snippet ?? '')).toBe(text)
      expect(format(parseFile(`${text}\n`))).toBe(`${text}\n`)
      return text
    })
    const { service } = await loadFixture(`detent 1\n\n${texts.join('\n')}\nload all { cores 8 }\n`)
    const uri = uriOf('a.detent')
    const errors = service.findings(uri).filter(({ finding }) => finding.severity === 'error')
    expect(errors.map(({ finding }) => finding.message)).toEqual([])
    expect(service.evaluations(uri)[0]?.predictions.length).toBeGreaterThan(0)
  })

  const profileIn = async (text: string): Promise<Completion | undefined> =>
    (await whole(text)).find(one => one.label.startsWith('profile'))

  it('name the only part, cooler, room and board that there are, and fit the part', async () => {
    const item = await profileIn(`${bench.replace(/cooler te-plate[\s\S]*?\n\}\n/, '')}$0`)
    expect(item?.snippet).toMatch(
      /part \$\{\d+:sample-b7\}\n {2}cooler \$\{\d+:big-loop\}\n {2}room \$\{\d+:garage\}\n/,
    )
    expect(item?.text).toContain('3 to 12 cores  36x')
    expect(item?.more).toBeUndefined()
  })

  it('let the person choose among several', async () => {
    const item = await profileIn(`${bench}room attic { air 20 °C; humidity 50 % }\n$0`)
    expect(item?.snippet).toMatch(/room \$\{\d+\|garage,attic\|\}/)
  })

  it('take names from a file beside it, with its use line', async () => {
    const item = await profileIn(`--- bench.detent\n${bench}--- a.detent\ndetent 1\n\n$0`)
    expect(item?.text).toContain('part sample-b7\n')
    expect(item?.more?.[0]?.text).toBe('\nuse "bench.detent"')
  })
})
