import { describe, expect, it } from 'vitest'
import { applyEdits } from '../../grammar/printer.ts'
import { loadAtCursor, loadFixture, uriOf } from '../harness/fixture.ts'
import { twoGroups } from '../harness/two-groups.ts'

/** The fixture's own `[[…]]` stretches must be exactly the places that are found. */
async function checkReferences(text: string): Promise<void> {
  const { service, cursor, stretches } = await loadAtCursor(text)
  const found = service.features
    .references(cursor.uri, cursor.offset)
    .map(({ uri, start, end }) => ({ uri, start, end }))
  const order = (a: { uri: string; start: number }, b: { uri: string; start: number }): number =>
    a.uri < b.uri ? -1 : a.uri > b.uri ? 1 : a.start - b.start
  expect(found).toEqual([...stretches].sort(order))
}

async function renamed(text: string, name: string): Promise<readonly string[] | string> {
  const { service, cursor, text: textOf, files } = await loadAtCursor(text)
  const result = service.features.rename(cursor.uri, cursor.offset, name)
  if (result === undefined) return 'nothing to rename'
  if ('refused' in result) return result.refused
  const texts: Record<string, string> = { ...files }
  for (const { uri, edits } of result.files) texts[uri] = applyEdits(textOf(uri), edits)
  return Object.values(texts)
}

const part = (first: string, second: string, rail: string): string =>
  `part owl {\n  group ${first} { cores 4 }\n  group ${second} { cores 6; rail ${rail} }\n}\n`

describe('a group of cores', () => {
  it('is meant wherever its name stands behind a word, in every file', () =>
    checkReferences(`--- bench.detent
${part('[[$0tall]]', 'squat', 'side')}load mix { cores [[tall]] 2 to 4; cores squat 1; activity 0.9; activity [[tall]] 0.5 }
board desk { menu { steps [[tall]] "Page" "Field"; core-voltage side "Page" "Volts" } }
--- a.detent
use "bench.detent"
profile day {
  part owl
  steps [[tall]] { 1 to 4 cores 50x }
  steps squat { 1 to 6 cores 40x }
  bands [[tall]] return 2 K { 1 to 4 cores above 70 °C -1x }
  vector [[tall]] -1x
  voltage { core [[tall]] needs + 10 mV; set [[tall]] 50x 1.2 V; set squat 40x 1.1 V }
  expect mix holds [[tall]] >= 4.8 GHz
  expect mix voltage [[tall]] <= 1.3 V
  expect mix current [[tall]] <= 90 A
}
`))

  it('is meant in a profile by what its own part calls so', () =>
    checkReferences(`part owl { group tall { cores 4 } }
part crow { group [[tall]] { cores 6 } }
profile day { part owl; steps tall { 1 to 4 cores 50x } }
profile night { part crow; steps [[$0tall]] { 1 to 6 cores 48x } }
`))

  it('of a load for many parts is that of each', () =>
    checkReferences(`part owl { group [[tall]] { cores 4 } }
part crow { group [[tall]] { cores 6 } }
load mix { cores [[$0tall]] 2 }
`))

  it('may have the name of a key word', () =>
    checkReferences(`part owl { group [[needs]] { cores 4 } }
profile day { part owl; voltage { core [[$0needs]] needs + 10 mV } }
`))

  it('leads to its block', async () => {
    const { service, cursor, stretches } = await loadAtCursor(
      'part owl {\n  group [[tall]] { cores 4 }\n}\nload mix { cores ta$0ll 2 }\n',
    )
    const found = service.features.definition(cursor.uri, cursor.offset)
    expect(found && { uri: found.uri, ...found.name }).toEqual(stretches[0])
  })
})

describe('a supply rail', () => {
  it('is meant by the groups on it, the board and the limits', () =>
    checkReferences(`part owl {
  group tall { cores 4; rail [[side]] }
  group squat { cores 6; rail [[$0side]] }
  group third { cores 2 }
}
board desk { load-line [[side]] 0.5 mΩ; load-line main 0.4 mΩ; core-voltage-step [[side]] 5 mV }
profile day { part owl; board desk; limits { current [[side]] 40 A } }
`))

  it('leads to the first group that is on it', async () => {
    const { service, cursor, stretches } = await loadAtCursor(
      'part owl {\n  group tall { cores 4; rail [[side]] }\n}\nprofile day { part owl; limits { current si$0de 40 A } }\n',
    )
    const found = service.features.definition(cursor.uri, cursor.offset)
    expect(found && { uri: found.uri, ...found.name }).toEqual(stretches[0])
  })
})

describe('renaming', () => {
  const bench = (group: string): string => `${part(group, 'squat', 'side')}load mix { cores ${group} 2 }\n`

  it('changes the part and all that name the group, in every file', async () => {
    const files = `--- bench.detent\n${bench('tall')}--- a.detent\nuse "bench.detent"\nprofile day { part owl; vector ta$0ll -1x }\n`
    expect(await renamed(files, 'long')).toEqual([
      bench('long'),
      'use "bench.detent"\nprofile day { part owl; vector long -1x }\n',
    ])
  })

  it('changes every part that a load ties to the name, and no other', async () => {
    const text = (first: string, other: string): string =>
      `part owl { group ${first} { cores 4 } }\npart crow { group ${other} { cores 6 } }\n`
    expect(await renamed(`${text('tall$0', 'tall')}load mix { cores tall 2 }\n`, 'long')).toEqual([
      `${text('long', 'long')}load mix { cores long 2 }\n`,
    ])
    expect(await renamed(text('tall$0', 'tall'), 'long')).toEqual([text('long', 'tall')])
  })

  it('of a rail changes its groups, the board and the limits', async () => {
    const text = (rail: string): string =>
      `${part('tall', 'squat', rail)}board desk { load-line ${rail} 0.5 mΩ }\nprofile day { part owl; board desk; limits { current ${rail} 40 A } }\n`
    expect(await renamed(text('side').replace('line side', 'line si$0de'), 'back')).toEqual([text('back')])
  })

  it.each([
    ['squat', 'A group of the part owl is already called “squat”.'],
    ['Tall', /is not a name/],
    ['tall', [bench('tall')]],
  ])('to %j is %j', async (name, outcome) => {
    const found = await renamed(bench('tall').replace('cores tall', 'cores ta$0ll'), name)
    if (outcome instanceof RegExp) expect(found).toMatch(outcome)
    else expect(found).toEqual(outcome)
  })

  it('never makes a rail the main one, nor changes that one', async () => {
    const board = (name: string): string => `${part('tall', 'squat', 'side')}board desk { load-line ${name} 0.5 mΩ }\n`
    expect(await renamed(board('si$0de'), 'main')).toMatch(/already called “main”/)
    expect(await renamed(board('ma$0in'), 'side')).toBe('nothing to rename')
  })
})

describe('completion', () => {
  const bench = `${part('tall', 'squat', 'side')}load few { cores 2 }\n`
  const inProfile = (line: string): string => `${bench}profile day {\n  part owl\n  ${line}\n}\n`

  async function names(text: string): Promise<readonly string[]> {
    const { service, cursor } = await loadAtCursor(text)
    const offered = service.features.completions(cursor.uri, cursor.offset, 'invoked')
    return offered.filter(({ kind }) => kind === 'name').map(({ label }) => label)
  }

  it.each([
    'steps $0',
    'bands $0',
    'vector $0',
    'voltage { core $0 }',
    'voltage { set $0 }',
    'expect few holds $0',
    'expect few voltage $0',
    'expect few current $0',
  ])('offers the groups of the part behind `%s`', async line => {
    expect(await names(inProfile(line))).toEqual(['tall', 'squat'])
  })

  it.each([
    [`${bench}load mix {\n  cores $0\n}\n`, ['tall', 'squat']],
    [`${bench}load mix {\n  cores tall 2\n  cores $0\n}\n`, ['squat']],
    [`${bench}load mix {\n  cores tall 2\n  activity $0\n}\n`, ['tall', 'squat']],
    [`${bench}board desk {\n  load-line $0\n}\n`, ['main', 'side']],
    [`${bench}board desk {\n  core-voltage-step $0\n}\n`, ['main', 'side']],
    [`${bench}board desk {\n  menu {\n    steps $0\n  }\n}\n`, ['tall', 'squat']],
    [`${bench}board desk {\n  menu {\n    core-voltage $0\n  }\n}\n`, ['tall', 'squat', 'main', 'side']],
    [`${bench}board desk {\n  menu {\n    current $0\n  }\n}\n`, ['main', 'side']],
    [`${bench}board desk {\n  menu {\n    die $0\n  }\n}\n`, []],
    [inProfile('limits { current $0 }'), ['main', 'side']],
    [inProfile('steps tall { 1 to 4 cores 40x }\n  steps $0'), ['squat']],
    ['part owl {\n  group tall { cores 4; rail side }\n  group squat {\n    rail $0\n  }\n}\n', ['side', 'main']],
  ])('offers what may stand in %j', async (text, wanted) => {
    expect(await names(text)).toEqual(wanted)
  })

  it('offers none where all cores are alike', async () => {
    expect(await names('part owl { cores 4 }\nprofile day {\n  part owl\n  steps $0\n}\n')).toEqual([])
    expect(await names('part owl { cores 4 }\nboard desk {\n  load-line $0\n}\n')).toEqual([])
  })

  it('offers a word again until each group has its own', async () => {
    const labels = async (text: string): Promise<readonly string[]> => {
      const { service, cursor } = await loadAtCursor(text)
      return service.features.completions(cursor.uri, cursor.offset, 'invoked').map(({ label }) => label)
    }
    const tall = 'steps tall { 1 to 4 cores 40x }'
    expect(await labels(inProfile(`${tall}\n  $0`))).toContain('steps')
    expect(await labels(inProfile(`${tall}\n  steps squat { 1 to 6 cores 40x }\n  $0`))).not.toContain('steps')
    // Cores of a load are given altogether or group by group.
    expect(await labels(`${bench}load mix {\n  cores tall 2\n  $0\n}\n`)).toContain('cores')
    expect(await labels(`${bench}load mix {\n  cores 2\n  $0\n}\n`)).not.toContain('cores')
  })

  it('goes on with the counts of the group', async () => {
    const { service, cursor } = await loadAtCursor(`--- a.detent\n${twoGroups('  steps small {\n    $0\n  }')}`)
    const row = service.features.completions(cursor.uri, cursor.offset, 'invoked').find(({ kind }) => kind === 'row')
    expect(row?.label).toMatch(/^1 to 10 cores /)
  })

  it('has a part of two kinds to fill in, and a profile with the steps of each', async () => {
    const template = async (text: string, label: string): Promise<string> => {
      const { service, cursor } = await loadAtCursor(text)
      const items = service.features.completions(cursor.uri, cursor.offset, 'invoked')
      return items.find(one => one.label === label)?.text ?? ''
    }
    const bench = `detent 1
${await template('$0', 'part with cores of two kinds')}
cooler ring kind loop { }
room attic { air 22 °C; humidity 50 % }
load all { cores 12 }
`
    const profile = await template(`${bench}$0`, 'profile with all it needs')
    expect(profile.match(/steps \w+/g)).toEqual(['steps broad', 'steps small'])
    const { service } = await loadFixture(`--- a.detent\n${bench}${profile}\n`)
    expect(service.findings(uriOf('a.detent')).filter(({ finding }) => finding.severity === 'error')).toEqual([])
    const [evaluation] = service.evaluations(uriOf('a.detent'))
    const all = evaluation?.predictions.find(({ load }) => load.name === 'all')?.settled
    expect(all?.groups?.map(({ group, cores }) => `${group} ${cores}`)).toEqual(['broad 4', 'small 8'])
  })
})

describe('colouring', () => {
  it('shows a name of a group or rail as a name, and where a group is defined', async () => {
    const text = `${part('tall', 'squat', 'side')}profile day { part owl; vector tall -1x; limits { current side 40 A } }\n`
    const { service } = await loadFixture(`--- a.detent\n${text}`)
    const tokens = [...service.features.meaningTokens(uriOf('a.detent'))].flatMap(({ start, find }) =>
      find().map(one => ({ ...one, word: text.slice(start + one.start, start + one.end) })),
    )
    const of = (word: string): string[] =>
      tokens.filter(one => one.word === word).map(({ meaning, defines }) => `${meaning}${defines ? ', defined' : ''}`)
    expect(of('tall')).toEqual(['name, defined', 'name'])
    expect(of('side')).toEqual(['name', 'name'])
  })
})
