import { describe, expect, it } from 'vitest'
import { applyEdits } from '../../grammar/printer.ts'
import { loadAtCursor, loadFixture, uriOf } from '../harness/fixture.ts'

/** The fixture's own `[[…]]` stretches must be exactly the places that are found. */
async function checkReferences(text: string): Promise<void> {
  const { service, cursor, stretches } = await loadAtCursor(text)
  const found = service.features
    .references(cursor.uri, cursor.offset)
    .map(({ uri, start, end }) => ({ uri, start, end }))
  const order = (a: { uri: string; start: number }, b: { uri: string; start: number }): number =>
    a.uri < b.uri ? -1 : a.uri > b.uri ? 1 : a.start - b.start
  expect([...found].sort(order)).toEqual([...stretches].sort(order))
}

async function renamed(text: string, name: string): Promise<Readonly<Record<string, string>> | string> {
  const { service, cursor, text: textOf, files } = await loadAtCursor(text)
  const result = service.features.rename(cursor.uri, cursor.offset, name)
  if (result === undefined) return 'nothing to rename'
  if ('refused' in result) return result.refused
  const texts: Record<string, string> = { ...files }
  for (const { uri, edits } of result.files) texts[uri] = applyEdits(textOf(uri), edits)
  return texts
}

describe('references', () => {
  it('are found in all files that mean the definition, and in no other', () =>
    checkReferences(`--- bench.detent
room [[shed]] { air 20 °C; humidity 50 % }
part shed { cores 4 }
--- a.detent
use "bench.detent"
profile q { room [[$0shed]] }
--- b.detent
use "a.detent"
profile r { room [[shed]]; part shed }
--- other.detent
room shed { air 10 °C; humidity 50 % }
profile s { room shed }
`))

  it('of a profile are where others start from it', () =>
    checkReferences('profile [[$0day]] { }\nprofile night based-on [[day]] { }\n'))

  it('of a load are in expectations', () =>
    checkReferences(
      'load [[pair$0]] { cores 2 }\nprofile q { expect [[pair]] holds >= 5 GHz; expect idle die <= 50 °C }\n',
    ))

  it('of a built-in load are those of the file', () =>
    checkReferences('profile q { expect [[$0idle]] die <= 50 °C; expect [[idle]] power <= 20 W }\n'))

  it('of a second definition of a name are only itself', () =>
    checkReferences('room shed { }\nroom [[$0shed]] { }\nprofile q { room shed }\n'))

  it('of a part and a cooler are in what a fit has left beside them, which sees neither', () =>
    checkReferences(`--- s.fitted.detent
fitted s { correlated package-resistance block-resistance of [[pipe]] -0.5; counted r }
--- bench.detent
use "s.fitted.detent"
part s { cores 4 }
cooler [[$0pipe]] kind air { }
`))

  it('of a part are asked for from what a fit has left', () =>
    checkReferences(`--- bench.detent
use "s.fitted.detent"
part [[s]] { cores 4 }
--- s.fitted.detent
fitted [[$0s]] { counted r }
`))

  it('are missing on a key word', () => checkReferences('room shed { a$0ir 20 °C }\n'))
})

describe('the definition', () => {
  it.each([
    ['--- bench.detent\nroom [[shed]] { }\n--- a.detent\nuse "bench.detent"\nprofile q { room $0shed }\n'],
    ['room [[she$0d]] { }\n'],
    ['profile night based-on da$0y { }\nprofile [[day]] { }\n'],
    ['--- bench.detent\n[[]]room shed { }\n--- a.detent\nuse "ben$0ch.detent"\n'],
  ])('is found from %j', async text => {
    const { service, cursor, stretches } = await loadAtCursor(text)
    const found = service.features.definition(cursor.uri, cursor.offset)
    expect(found && { uri: found.uri, ...found.name }).toEqual(stretches[0])
  })

  it.each(['profile q { room no$0body }\n', 'profile q { expect id$0le die <= 50 °C }\n', 'use "miss$0ing.detent"\n'])(
    'is missing for %j',
    async text => {
      const { service, cursor } = await loadAtCursor(text)
      expect(service.features.definition(cursor.uri, cursor.offset)).toBeUndefined()
    },
  )
})

describe('renaming', () => {
  const files = `--- bench.detent
room shed { air 20 °C; humidity 50 % }
--- a.detent
use "bench.detent"
profile q { room sh$0ed }
room attic { }
`

  it('changes every file at once', async () => {
    const texts = await renamed(files, 'cellar')
    expect(texts).toEqual({
      [uriOf('bench.detent')]: 'room cellar { air 20 °C; humidity 50 % }\n',
      [uriOf('a.detent')]: 'use "bench.detent"\nprofile q { room cellar }\nroom attic { }\n',
    })
  })

  it.each([
    ['attic', /already called “attic” in a\.detent/],
    ['Cellar', /not a name/],
    ['two words', /not a name/],
    ['', /not a name/],
  ])('is refused for %j', async (name, why) => {
    expect(await renamed(files, name)).toMatch(why)
  })

  it('is refused where another kind of name would not be, and the other way round', async () => {
    const load = 'load one$0 { cores 1 }\nroom shed { }\n'
    expect(await renamed(load, 'idle')).toMatch(/built-in load/)
    expect(await renamed(load, 'shed')).toEqual({ [uriOf('a.detent')]: 'load shed { cores 1 }\nroom shed { }\n' })
  })

  it('has nothing to rename on key words and built-in loads', async () => {
    expect(await renamed('profile q { expect id$0le die <= 50 °C }\n', 'rest')).toBe('nothing to rename')
    expect(await renamed('room shed { a$0ir 20 °C }\n', 'rest')).toBe('nothing to rename')
  })
})

describe('moved files', () => {
  it('take their use lines along, and those that lead to them', async () => {
    const { service, text } = await loadFixture(
      '--- lib/bench.detent\ndetent 1\nuse "parts.detent"\n--- lib/parts.detent\ndetent 1\n--- a.detent\nuse "lib/bench.detent"   # bench\n',
    )
    const moved = (from: string, to: string): readonly string[] =>
      service.features
        .editsForMoves([{ from: uriOf(from), to: uriOf(to) }])
        .map(({ uri, edits }) => `${uri.replace(uriOf(''), '')}: ${applyEdits(text(uri), edits)}`)
    expect(moved('lib/bench.detent', 'bench.detent')).toEqual([
      'lib/bench.detent: detent 1\nuse "lib/parts.detent"\n',
      'a.detent: use "bench.detent"   # bench\n',
    ])
    expect(moved('lib', 'shelf')).toEqual(['a.detent: use "shelf/bench.detent"   # bench\n'])
    expect(moved('a.detent', 'b.detent')).toEqual([])
    expect(moved('nothing.detent', 'b.detent')).toEqual([])
  })

  it('take the way to their logs along, also where the logs move', async () => {
    const run = (path: string): string => `run r of q under work { log "${path}" { column power "p" W } }\n`
    const { service, text } = await loadFixture(
      `--- lib/runs.detent\n${run('logs/a ""b"".csv')}--- c.detent\n${run('lib/logs/c.csv')}`,
    )
    const moved = (from: string, to: string): readonly string[] =>
      service.features
        .editsForMoves([{ from: uriOf(from), to: uriOf(to) }])
        .map(({ uri, edits }) => `${uri.replace(uriOf(''), '')}: ${applyEdits(text(uri), edits)}`)
    expect(moved('lib/runs.detent', 'runs.detent')).toEqual([`lib/runs.detent: ${run('lib/logs/a ""b"".csv')}`])
    expect(moved('lib/logs', 'logs')).toEqual([
      `lib/runs.detent: ${run('../logs/a ""b"".csv')}`,
      `c.detent: ${run('logs/c.csv')}`,
    ])
    expect(moved('lib', 'shelf')).toEqual([`c.detent: ${run('shelf/logs/c.csv')}`])
  })
})

describe('workspace symbols', () => {
  it('are the definitions whose names have the letters in their order', async () => {
    const { service } = await loadFixture(
      '--- b.detent\nroom garage { }\n--- a.detent\npart rig-one { }\nload render { cores 1 }\n',
    )
    const names = (query: string): readonly string[] =>
      service.features.workspaceSymbols(query).map(({ name, kind }) => `${kind} ${name}`)
    expect(names('')).toEqual(['room garage', 'load render', 'part rig-one'])
    expect(names('rn')).toEqual(['load render', 'part rig-one'])
    expect(names('GRG')).toEqual(['room garage'])
    expect(names('xyz')).toEqual([])
  })
})
