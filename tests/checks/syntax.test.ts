import { describe, expect, it } from 'vitest'
import { check, checkerOf, fixed, foundIn } from '../harness/check.ts'
import { loadFixture } from '../harness/fixture.ts'

const checkSyntax = checkerOf('syntax')

describe('syntax', () => {
  it('finds a number that does not read, and nothing else because of it', async () => {
    const [finding] = await check(`detent 1
room loft {
  air 22,5 °C
      ^^^^ syntax
  humidity 50 %
}
`)
    expect(finding?.message).toContain('`22,5` has a decimal comma')
  })

  it('lets the same line pass with a point', () =>
    check(`detent 1
room loft {
  air 22.5 °C
  humidity 50 %
}
`))

  it.each([
    ['note fast', 'Expected a text in double quotes here.'],
    ['allow frost', 'Expected a reason in double quotes here.'],
    [
      'expect idle >= 1 GHz',
      'Expected `holds`, `plate`, `die`, `coolant`, `power`, `margin`, `drive-power`, `voltage`, `current` or `stable` here.',
    ],
  ])('says once what %s lacks', async (line, what) => {
    const messages = foundIn(await loadFixture(`detent 1\nprofile a { ${line} }\n`))
      .filter(({ finding }) => finding.code === 'syntax')
      .map(({ finding }) => finding.message)
    expect(messages).toHaveLength(1)
    expect(messages[0]?.startsWith(what), messages[0]).toBe(true)
  })

  it('fixes it', async () => {
    expect(await fixed('syntax', 'detent 1\nroom loft { air 22,5 °C; humidity 50 % }\n')).toBe(
      'detent 1\nroom loft { air 22.5 °C; humidity 50 % }\n',
    )
  })

  it('finds what a line cannot hold, and takes it out', async () => {
    await checkSyntax(`detent 1
room loft {
  air 22 °C to 24 °C to 26 °C
                     ^^^^^^^^ syntax
  humidity 50 %
}
`)
    expect(await fixed('syntax', 'detent 1\nroom loft { air 22 °C to 24 °C 9; humidity 50 % }\n')).toContain(
      '{ air 22 °C to 24 °C; humidity',
    )
  })

  it('finds lost braces and quotes', async () => {
    await checkSyntax(`detent 1
note "half a text
     ^^^^^^^^^^^^ syntax
room loft {
          ^ syntax
  air 22 °C
room barn { air 22 °C; humidity 50 % }
`)
    const closed = await fixed('syntax', 'detent 1\nnote "half a text\n')
    expect(closed).toBe('detent 1\nnote "half a text"\n')
  })

  it('finds a count that is not whole', () =>
    checkSyntax(`detent 1
load weave { cores 2.5 }
                   ^^^ syntax
`))

  it('leaves no missing key beside a lost brace', () =>
    check(`detent 1
room loft {
          ^ syntax
  air 22 °C
room barn { air 22 °C; humidity 50 % }
`))

  it.each([
    ['load weave { cores 1 to 4; activity }', undefined],
    ['profile p { steps { 1 to 2 57x } }', '{ 1 to 2 cores 57x }'],
    ['profile p { bands { 1 core 50 °C -1x } }', '1 core above 50 °C -1x'],
    ['profile p { bands { 1 core above 50 °C 1x } }', 'above 50 °C -1x'],
    ['profile p { vector 2x }', 'vector -2x'],
    ['part p { ratio 8x 50x }', 'ratio 8x to 50x'],
    ['profile p { expect idle die > 5 °C }', 'die >= 5 °C'],
    ['profile p { note hello }', 'note "hello"'],
    ['profile p { limits { sustained-power 90 W 30 s } }', '90 W over 30 s'],
  ])('gives a line what it lacks, if one edit can: %s', async (line, mended) => {
    const fixture = `detent 1\n${line}\n`
    if (mended === undefined) await expect(fixed('syntax', fixture)).rejects.toThrow('No fix')
    else
      expect(await fixed('syntax', fixture, { brings: ['missing-key', 'unknown-name', 'expect-undecided'] })).toContain(
        mended,
      )
  })

  it('takes commas out of a row, where `;` would make a row of each of its items', async () => {
    const row = (text: string): string => `detent 1\npart p {\n  known {\n    ${text}\n  }\n}\n`
    const brings = ['missing-key']
    const once = await fixed('syntax', row('4.60 GHz, 1.12 V 127 W 64 °C  air 22 °C'), { brings })
    expect(once).toBe(row('4.60 GHz 1.12 V 127 W 64 °C  air 22 °C'))
    const found = foundIn(await loadFixture(row('4.60 GHz, 1.12 V, 127 W'))).filter(
      one => one.finding.code === 'syntax',
    )
    expect(found.map(({ finding }) => finding.message.slice(0, 72))).toEqual(
      Array(2).fill('What belongs together on a line is separated by spaces, not by commas. T'),
    )
  })

  it.each([
    ['profile p { steps { 1-2 cores 52x } }', 'Write `1 to 2`', '{ 1 to 2 cores 52x }'],
    ['profile p { steps { 3–8 cores 48x } }', 'Write `3 to 8`', '{ 3 to 8 cores 48x }'],
    ['profile p { steps { 3 — 8 cores 48x } }', 'Write `3 to 8`', '{ 3 to 8 cores 48x }'],
    ['part p { ratio 8x-50x }', 'Write `8x to 50x`', 'ratio 8x to 50x'],
    ['room r { air 20-24 °C; humidity 50 % }', 'Write `20 °C to 24 °C`', 'air 20 °C to 24 °C;'],
    ['room r { air 20 °C; humidity 40…50 % }', 'Write `40 % to 50 %`', 'humidity 40 % to 50 %'],
    ['profile p { limits { die: 90 °C } }', 'Leave out the `:`', '{ die 90 °C }'],
    ['profile p { steps { 1 core = 48x } }', 'Leave out the `=`', '{ 1 core 48x }'],
    ['load weave { cores=2 }', 'Leave out the `=`', '{ cores 2 }'],
  ])('fixes a sign that people write out of habit: %s', async (line, title, mended) => {
    const fixture = `detent 1\n${line}\n`
    const brings = ['missing-key', 'unit-missing', 'steps-gap', 'voltage-range']
    expect(await fixed('syntax', fixture, { title, brings })).toContain(mended)
    const loaded = await loadFixture(fixture)
    const messages = foundIn(loaded).flatMap(({ finding }) => (finding.code === 'syntax' ? [finding.message] : []))
    expect(messages.join(' ')).not.toMatch(/remove it/i)
  })

  it.each([['profile p { expect idle die = 50 °C }'], ['load weave { cores = }']])(
    'offers no sign to leave out or to write where the line would read no better: %s',
    async line => {
      await expect(fixed('syntax', `detent 1\n${line}\n`)).rejects.toThrow('No fix')
    },
  )

  it('gives the version line its number', async () => {
    expect(await fixed('syntax', 'detent\n')).toBe('detent 1\n')
  })
})
