import { describe, expect, it } from 'vitest'
import { layOver, OverlayTrouble, readOverlay, shownPlace } from '../../server/features/overlay/index.ts'
import { allFiguresOf, createService, type Service } from '../../server/service.ts'
import { memoryFiles } from '../harness/file-systems.ts'
import { bench } from './bench.ts'

/** An overlaid statement has the effect of the same statement written into the files. */

const benchUri = 'memory://w/bench.detent'
const ownUri = 'memory://w/own.detent'

const profiles = `detent 1
use "bench.detent"

profile day {
  part sample-b7
  cooler big-loop
  room garage
  steps {
    1 to 4 cores   54x
    5 to 12 cores  50x
  }
  bands return 3 K {
    1 to 4 cores   above 60 °C  -1x
    5 to 12 cores  above 70 °C  -2x
  }
  voltage {
    core needs + 20 mV
    set 54x 1.360 V
  }
  limits { sustained-power 230 W over 60 s; die 95 °C }
  expect full die <= 95 °C
}

load full { cores 12 }
load light { cores 1 to 4; activity 0.6 }

profile night based-on day {
  limits { current 160 A }
}
`

async function load(own: string, shared = bench): Promise<Service> {
  const service = createService(memoryFiles({ [ownUri]: own, [benchUri]: shared }))
  await service.workspace.load([ownUri])
  return service
}

interface Judged {
  readonly predicted: unknown
  readonly expectations: unknown
}

function judged(service: Service): Judged {
  const evaluations = service.evaluations(ownUri)
  return {
    predicted: evaluations.map(allFiguresOf),
    expectations: evaluations.map(one => service.expectations(one).map(({ text, holds }) => [text, holds])),
  }
}

async function overlaid(...statements: string[]): Promise<Service> {
  const service = await load(profiles)
  const overlays = statements.map((text, index) => readOverlay(text, index + 1))
  layOver(service.workspace, overlays, [ownUri])
  return service
}

function replaced(text: string, ...pairs: readonly (readonly [string, string])[]): string {
  return pairs.reduce((all, [from, to]) => {
    expect(all).toContain(from)
    return all.replace(from, to)
  }, text)
}

function lineOf(text: string, mark: string): { readonly line: number; readonly column: number } {
  const before = text.slice(0, text.indexOf(mark)).split('\n')
  return { line: before.length, column: (before.at(-1)?.length ?? 0) + 1 }
}

/** Where the first such text stands for a person, behind another in the overlaid file. */
function placeOf({ workspace }: Service, mark: string, behind = 'detent 1') {
  const document = workspace.document(ownUri)
  const at = document?.source.text.indexOf(mark, document.source.text.indexOf(behind)) ?? -1
  if (document === undefined || at < 0) throw new Error(`${mark} does not stand there`)
  return shownPlace(document, at)
}

const nightTail = 'limits { current 160 A }\n'

describe('an overlaid statement', () => {
  it.each<[name: string, statements: readonly string[], own: string, shared?: string]>([
    ['a key in place of one', ['cooler te-plate'], replaced(profiles, ['cooler big-loop', 'cooler te-plate'])],
    ['a key that is not there', ['vector -2x'], replaced(profiles, ['  expect', '  vector -2x\n  expect'])],
    [
      'a key of a block in place of one, and one beside the others',
      ['limits { sustained-power 180 W; burst-power 250 W }'],
      replaced(
        profiles,
        ['sustained-power 230 W over 60 s', 'sustained-power 180 W; burst-power 250 W'],
        [nightTail, 'limits { current 160 A; sustained-power 180 W; burst-power 250 W }\n'],
      ),
    ],
    [
      'a row of steps, of a row that covers more the rest stays, in what inherits as well',
      ['steps { 3 to 6 cores 52x }'],
      replaced(profiles, [
        '    1 to 4 cores   54x\n    5 to 12 cores  50x\n',
        '    1 to 2 cores 54x\n 3 to 6 cores 52x\n 7 to 12 cores 50x\n',
      ]),
    ],
    [
      'one count of a row',
      ['steps { 3 cores 53x }'],
      replaced(profiles, ['1 to 4 cores   54x', '1 to 2 cores 54x\n 3 cores 53x\n 4 cores 54x']),
    ],
    [
      'all counts',
      ['steps { 1 to 12 cores 48x }'],
      replaced(profiles, ['    1 to 4 cores   54x\n    5 to 12 cores  50x\n', '1 to 12 cores 48x\n']),
    ],
    [
      'a band at the same counts and threshold',
      ['bands { 5 to 12 cores above 70 °C -3x }'],
      replaced(profiles, ['-2x', '-3x']),
    ],
    [
      'a band at another threshold',
      ['bands { 5 to 12 cores above 40 °C -3x }'],
      replaced(profiles, ['-2x\n', '-2x\n    5 to 12 cores above 40 °C -3x\n']),
    ],
    [
      'a band that gives nothing back',
      ['bands { 5 to 12 cores above 70 °C -0x }'],
      replaced(profiles, ['    5 to 12 cores  above 70 °C  -2x\n', '']),
    ],
    [
      'what stands behind the word of a block',
      ['bands return 1 K { }'],
      replaced(profiles, ['return 3 K', 'return 1 K']),
    ],
    [
      'a set row at the same ratio, and at another',
      ['voltage { set 54x 1.380 V; set 50x 1.250 V }'],
      replaced(profiles, ['set 54x 1.360 V', 'set 54x 1.380 V; set 50x 1.250 V']),
    ],
    ['an offset', ['voltage { core needs + 40 mV }'], replaced(profiles, ['+ 20 mV', '+ 40 mV'])],
    [
      'an expectation of the same figure',
      ['expect full die <= 60 °C'],
      replaced(profiles, ['die <= 95 °C\n', 'die <= 60 °C\n'], [nightTail, `${nightTail}  expect full die <= 60 °C\n`]),
    ],
    [
      'a definition of another file',
      ['room garage { air 35 °C }'],
      profiles,
      bench.replace(/air 1[^\n;}]*/, 'air 35 °C'),
    ],
    [
      'the later over the earlier',
      ['vector -1x', 'vector -3x'],
      replaced(profiles, ['  expect', '  vector -3x\n  expect']),
    ],
    [
      'a new definition, and its name',
      ['room attic { air 31 °C; humidity 40 % }', 'room attic'],
      `${replaced(profiles, ['room garage', 'room attic'])}\nroom attic { air 31 °C; humidity 40 % }\n`,
    ],
    [
      'a table inside a definition, by its first cell',
      ['cooler big-loop { radiator { 100 % 0.060 K/W } }'],
      profiles,
      bench.replace('100 % 0.045 K/W', '100 % 0.060 K/W'),
    ],
  ])('does what it does in the file: %s', async (_, statements, own, shared = bench) => {
    const [laid, written, plain] = [
      judged(await overlaid(...statements)),
      judged(await load(own, shared)),
      judged(await load(profiles)),
    ]
    expect(laid).toEqual(written)
    expect(laid).not.toEqual(plain)
  })

  it('changes nothing where it says what is there', async () => {
    const laid = await overlaid('limits { die 95 °C }', 'steps { 5 to 12 cores 50x }', 'room garage { }')
    expect(judged(laid)).toEqual(judged(await load(profiles)))
  })

  it('changes only the profiles asked for', async () => {
    const service = await load(profiles)
    layOver(service.workspace, [readOverlay('vector -2x', 1)], [ownUri], ['night'])
    const written = await load(replaced(profiles, [nightTail, `${nightTail}  vector -2x\n`]))
    expect(judged(service)).toEqual(judged(written))
  })

  it('knows where each stretch comes from', async () => {
    const service = await load(profiles)
    const overlays = ['vector -1x', 'limits { burst-power 250 W }\ndrive off'].map((text, index) =>
      readOverlay(text, index + 1),
    )
    layOver(service.workspace, overlays, [ownUri])
    expect(placeOf(service, 'burst-power 250 W')).toEqual({ uri: ownUri, overlay: 2, line: 1, column: 10 })
    expect(placeOf(service, 'drive off')).toEqual({ uri: ownUri, overlay: 2, line: 2, column: 1 })
    for (const mark of ['profile day', 'expect full', 'profile night', 'load light']) {
      expect(placeOf(service, mark), mark).toEqual({ uri: ownUri, overlay: undefined, ...lineOf(profiles, mark) })
    }
    const other = service.workspace.document(benchUri)
    if (other === undefined) throw new Error('the bench is not loaded')
    expect(shownPlace(other, other.source.text.indexOf('cooler'))).toEqual({
      uri: benchUri,
      overlay: undefined,
      ...lineOf(bench, 'cooler'),
    })
  })

  it('has the block that is made for it at its place as well', async () => {
    const service = await load(profiles.replace('  limits { current 160 A }\n', '  vector -1x\n'))
    layOver(service.workspace, [readOverlay('limits { current 150 A }', 1)], [ownUri], ['night'])
    expect(placeOf(service, 'limits', 'profile night')).toMatchObject({ overlay: 1, line: 1, column: 1 })
  })

  it('says of a table that was taken over where its rows stand', async () => {
    const service = await load(profiles)
    layOver(service.workspace, [readOverlay('steps { 1 core 55x }', 1)], [ownUri], ['night'])
    expect(placeOf(service, '5 to 12 cores', 'profile night')).toEqual({
      uri: ownUri,
      overlay: undefined,
      ...lineOf(profiles, '5 to 12 cores'),
    })
  })
})

describe('a statement that cannot be overlaid', () => {
  it.each([
    ['profile x { vector -1x }', '--with 3, column 1: `profile` cannot be overlaid'],
    ['  use "a.detent"', '--with 3, column 3: `use` cannot be overlaid'],
    ['course day', '--with 3, column 1: A course needs its block: `course NAME { … }`.'],
    ['course { idle 1 min }', '--with 3, column 1: Expected a name for this course'],
    ['course day { idle 1 min; work }', '--with 3, column 26:'],
    ['course day { work until plate <= 12 }', '--with 3, column 34: `12` has no unit'],
    ['course day { work 90 h }', '--with 3, column 19:'],
    ['detent 1', '--with 3, column 1: `detent` cannot be overlaid'],
    ['run a of b under c { }', '--with 3, column 1: `run` cannot be overlaid'],
    ['load full', '--with 3, column 1: A load needs its block'],
    ['', '--with 3, column 1: No statement given.'],
    ['limits { die 95 }', '--with 3, column 14: `95` has no unit'],
    ['stepz { }', '--with 3, column 1: `stepz` means nothing'],
    ['room a {\n air 20 °C }\nroom b { air 20 °C }', '--with 3, column 23: Only one definition fits here'],
    ['limits { die 95 °C', '--with 3, column 8: This `{` is never closed.'],
    ['vector -1x }', '--with 3, column 12:'],
  ])('is refused at its place: %j', (text, message) => {
    expect(() => readOverlay(text, 3)).toThrow(OverlayTrouble)
    expect(() => readOverlay(text, 3)).toThrow(message)
  })

  it('names what is not there', async () => {
    const service = await load(profiles)
    const lay =
      (text: string): (() => unknown) =>
      () =>
        layOver(service.workspace, [readOverlay(text, 1)], [ownUri])
    expect(lay('room nowhere')).toThrow('--with 1, column 1: there is no room nowhere in the files asked for')
    expect(lay('cooler new-loop { block-resistance 0.1 K/W }')).toThrow(
      'there is no cooler new-loop in the files asked for',
    )
    expect(lay('cooler big-loop kind air { }')).toThrow('--with 1: cooler big-loop is of kind loop;')
  })

  it('leaves a definition alone that does not read to its end', async () => {
    const service = await load(replaced(profiles, [nightTail, 'limits { current 160 A\n']).trimEnd().slice(0, -1))
    expect(() => layOver(service.workspace, [readOverlay('limits { die 90 °C }', 1)], [ownUri])).toThrow(OverlayTrouble)
  })
})
