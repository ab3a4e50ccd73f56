import { describe, expect, it } from 'vitest'
import { loadAtCursor, loadFixture, uriOf } from '../harness/fixture.ts'
import { placed } from '../harness/placed.ts'
import { bench } from './bench.ts'

const uri = uriOf('a.detent')
const profile = `profile daily {
  part sample-b7
  cooler big-loop
  room garage
  steps {
    1 to 2 cores   57x
    3 to 6 cores   54x
    7 to 12 cores  50x
  }
  expect pair holds >= 5.0 GHz
  expect pair die <= 30 °C
}
`

describe('hints', () => {
  it('stand behind the rows of steps that a load reaches, and behind rooms', async () => {
    const { service, text } = await loadFixture(bench + profile)
    const hints = service.features.hints(uri)
    const lines = hints.map(hint => text(uri).slice(0, hint.offset).split('\n').at(-1)?.trim())
    expect(lines).toEqual(['room garage {', '1 to 2 cores   57x', '7 to 12 cores  50x'])
    expect(hints.slice(1).map(hint => hint.label)).toEqual([
      expect.stringMatching(/^\d\.\d\d GHz$/),
      expect.stringMatching(/^\d\.\d\d GHz$/),
    ])
    expect(hints[0]?.label).toBe('dew point 4.2 °C to 14.4 °C')
    const predictions = service.evaluations(uri).flatMap(one => one.predictions)
    for (const [index, load] of [
      [1, 'pair'],
      [2, 'render'],
    ] as const) {
      const clocks = predictions.filter(one => one.load.name === load).map(one => one.settled.clockMhz ?? Number.NaN)
      const shown = Number(/^([0-9.]+) GHz/.exec(hints[index]?.label ?? '')?.[1])
      expect(Math.abs(shown * 1000 - Math.min(...clocks))).toBeLessThan(5.001)
    }
  })

  it.each([
    ['    1 to 2 cores   57x', '    1 to 2 cores   57x   # the fast ones'],
    ['    1 to 2 cores   57x', '    1 to 2 cores   57x  '],
  ])('stand at the end of the line: %j becomes %j', async (before, after) => {
    const { service, text } = await loadFixture(bench + profile.replace(before, after))
    const places = service.features.hints(uri).map(({ offset }) => text(uri).slice(0, offset).split('\n').at(-1))
    expect(places).toContain(after.trimEnd())
  })

  it('stand behind their own row where several share a line', async () => {
    const rows = /steps \{[^}]*\}/
    const { service, text } = await loadFixture(
      bench + profile.replace(rows, 'steps { 1 to 2 cores 57x; 3 to 6 cores 54x; 7 to 12 cores 50x }'),
    )
    const ends = service.features
      .hints(uri)
      .map(({ offset }) => text(uri).slice(0, offset).split('\n').at(-1)?.slice(-5))
    expect(ends).toEqual(['age {', 's 57x', '50x }'])
  })

  it('keep their places without a label while the bench is in error', async () => {
    const sound = await loadFixture(bench + profile)
    const broken = await loadFixture((bench + profile).replace('switching 2.1 nF', 'switching 2.1'))
    const keys = (one: typeof sound): readonly string[] =>
      one.service.features
        .hints(uri)
        .map(hint => hint.key)
        .filter(key => key.startsWith('daily'))
    expect(keys(broken)).toEqual(expect.arrayContaining([...keys(sound)]))
    expect(broken.service.features.hints(uri).find(hint => hint.kind === 'clock')?.label).toBeUndefined()
  })
})

describe('lenses', () => {
  it('count the expectations that hold', async () => {
    const { service, text } = await loadFixture(bench + profile)
    const [lens] = service.features.lenses(uri)
    const holding = service
      .evaluations(uri)
      .flatMap(one => service.expectations(one))
      .filter(one => one.holds === true)
    expect(holding).toHaveLength(1)
    expect(lens?.text).toBe('1 of 2 expectations hold')
    expect(text(uri).slice(lens?.start, lens?.end)).toBe('daily')
  })

  it.each([
    ['expect pair die <= 30 °C', '0 of 1 expectation holds'],
    ['expect pair die <= 90 °C', '1 of 1 expectation holds'],
    ['expect pair die <= 30 °C\n  expect pair die >= 90 °C', '0 of 2 expectations hold'],
  ])('say so in words that agree with the number: %s', async (lines, said) => {
    const { service } = await loadFixture(
      bench + profile.replace(/ {2}expect.*\n/g, '').replace(/\}\n$/, `  ${lines}\n}\n`),
    )
    expect(service.features.lenses(uri)[0]?.text).toBe(said)
  })

  it('are missing for a profile that expects nothing, and have no text while it cannot be judged', async () => {
    const none = await loadFixture(bench + profile.replace(/ {2}expect.*\n/g, ''))
    expect(none.service.features.lenses(uri)).toEqual([])
    const broken = await loadFixture((bench + profile).replace('switching 2.1 nF', 'switching 2.1'))
    expect(broken.service.features.lenses(uri).map(lens => lens.text)).toEqual([undefined])
  })
})

describe('what is shown of a profile', () => {
  it.each([
    ['core needs + 40 mV', false, 'voltage { core needs + }'],
    ['a row of steps', false, 'steps { 1 to 2 cores 57 }'],
    ['a remark', true, 'note hello'],
    ['nothing', true, 'vector -1x'],
  ])('is settled unless something that it rests on does not read: %s', async (_name, settled, line) => {
    const { service } = await loadFixture(bench + profile.replace('room garage\n', `room garage\n  ${line}\n`))
    const shown = [...service.features.lenses(uri), ...service.features.hints(uri).filter(one => one.kind === 'clock')]
    expect(shown.length).toBeGreaterThan(0)
    expect(new Set(shown.map(one => one.settled))).toEqual(new Set([settled]))
  })

  it('keeps its line above while the only expectation is being typed', async () => {
    const typed = profile.replace(/ {2}expect pair die.*\n/, '').replace('>= 5.0 GHz', '>= 5.0')
    const { service } = await loadFixture(bench + typed)
    expect(service.features.lenses(uri)).toMatchObject([{ profile: 'daily', settled: false, text: undefined }])
  })
})

describe('tokens', () => {
  it('tell words apart by their place', async () => {
    const { service, text } = await loadFixture(
      'load cores { cores 2 }\nprofile steps { steps { 1 to 2 cores 5x } }\ncooler air kind air { }\n',
    )
    const tokens = placed(service.features.meaningTokens(uri)).map(
      ({ start, end, meaning, defines }) => `${text(uri).slice(start, end)}:${meaning}${defines ? '!' : ''}`,
    )
    expect(tokens).toEqual([
      ...['load:kind', 'cores:name!', 'cores:key'],
      ...['profile:kind', 'steps:name!', 'steps:key'],
      ...['cooler:kind', 'air:name!', 'kind:word', 'air:choice'],
    ])
  })

  it('are missing for unknown words', async () => {
    const { service, stretches } = await loadFixture('[[room]] [[r]] {\n  [[air]] 20 °C\n  blah 3\n}\n')
    const found = placed(service.features.meaningTokens(uri))
    expect(found.map(({ start, end }) => ({ uri, start, end }))).toEqual(stretches)
  })
})

describe('selection', () => {
  it('widens from the number to the file', async () => {
    const { service, cursor, text } = await loadAtCursor(
      'room r {\n  air 1$08 °C to 24 °C\n  humidity 50 %\n}\npart p { }\n',
    )
    const spans = service.features
      .selectionSpans(cursor.uri, cursor.offset)
      .map(({ start, end }) => text(uri).slice(start, end))
    expect(spans).toEqual([
      '18',
      '18 °C',
      '18 °C to 24 °C',
      'air 18 °C to 24 °C',
      'air 18 °C to 24 °C\n  humidity 50 %',
      '{\n  air 18 °C to 24 °C\n  humidity 50 %\n}',
      'room r {\n  air 18 °C to 24 °C\n  humidity 50 %\n}',
      text(uri),
    ])
  })

  it.each(['', '$0', '# only a comment\n'])('of %j is the file at least', async source => {
    const { service, text } = await loadFixture(source)
    expect(service.features.selectionSpans(uri, 0).at(-1)).toEqual({ start: 0, end: text(uri).length })
  })
})

describe('links', () => {
  it('are the paths that lead somewhere', async () => {
    const { service, stretches } = await loadFixture(
      '--- bench.detent\ndetent 1\n--- a.detent\nuse "[[bench.detent]]"\nuse "nowhere.detent"\n',
    )
    const found = service.features.fileLinks(uri).map(({ start, end, target }) => ({ start, end, target }))
    expect(found).toEqual(stretches.map(({ start, end }) => ({ start, end, target: uriOf('bench.detent') })))
  })
})
