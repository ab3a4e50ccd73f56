import { describe, expect, it } from 'vitest'
import { loadFixture, uriOf } from '../harness/fixture.ts'
import { railed, soundSteps, twoGroups } from '../harness/two-groups.ts'

/** The key of a statement is its word with its name: what `based-on` replaces, and what is given twice. */

const board = `board bench-top { core-voltage-step 5 mV; load-line 0.3 mΩ }
load mix { cores broad 2; cores small 3 }
`
const base = railed(
  twoGroups(
    `${soundSteps}
  board bench-top
  bands broad return 2 K { 1 to 4 cores above 80 °C -1x }
  bands { 1 to 10 cores above 85 °C -2x }
  vector broad -1x
  vector -3x
  voltage {
    core needs + 20 mV
    core broad needs + 30 mV
    set broad 53x 1.345 V
    set broad 50x 1.230 V
    set 38x 1.160 V
  }
  limits { current 150 A; current side 60 A }
  expect mix holds >= 3 GHz
  expect mix holds small >= 3 GHz`,
    board,
  ),
  'side',
)

async function loaded(own: string) {
  const { service } = await loadFixture(`--- a.detent\n${base}profile night based-on day {\n${own}\n}\n`)
  const found = service.evaluations(uriOf('a.detent')).map(evaluation => {
    const profile = evaluation.input.bench?.profile
    if (profile === undefined) throw new Error('nothing is predicted')
    return { profile, expected: service.expectations(evaluation).map(({ text }) => text) }
  })
  const [day, night] = found
  if (day === undefined || night === undefined) throw new Error('two profiles')
  return { day, night }
}

const [broad, small] = [0, 1]

describe('a profile that starts from another', () => {
  it('replaces what it names, and nothing else', async () => {
    const { day, night } = await loaded('  steps broad { 1 to 4 cores 48x }')
    expect(night.profile.groups?.[broad]?.steps.map(({ ratio }) => ratio)).toEqual([48])
    expect(night.profile.groups?.[small]).toEqual(day.profile.groups?.[small])
    expect(night.profile.groups?.[broad]?.bands).toEqual(day.profile.groups?.[broad]?.bands)
  })

  it('never replaces what is named by a line without a name', async () => {
    const { day, night } = await loaded(
      '  steps { 1 to 10 cores 30x }\n  bands { 1 to 10 cores above 70 °C -5x }\n  vector -4x\n  voltage { core fixed 1.2 V; set 30x 1.0 V }\n  limits { current 90 A }',
    )
    expect(night.profile.groups?.[broad]).toEqual(day.profile.groups?.[broad])
    expect(night.profile.groups?.[small]?.steps).toEqual(day.profile.groups?.[small]?.steps)
    // The small ones have no bands, vector or voltage of their own.
    expect(night.profile.groups?.[small]?.bands.map(({ drop }) => drop)).toEqual([5])
    expect(night.profile.groups?.[small]?.vectorDrop).toBe(4)
    expect(night.profile.groups?.[small]?.voltage).toEqual({ kind: 'fixed', voltageV: 1.2 })
    expect(night.profile.limits).toMatchObject({ currentA: 90, railCurrentA: { side: 60 } })
  })

  it('has the `set` rows of a name as one table', async () => {
    const { night } = await loaded('  voltage { set broad 51x 1.26 V }')
    const { voltage } = night.profile.groups?.[broad] ?? {}
    expect(voltage).toMatchObject({ kind: 'needs', offsetV: 0.03, set: [{ ratio: 51, voltageV: 1.26 }] })
    expect(night.profile.groups?.[small]?.voltage).toMatchObject({ set: [{ ratio: 38, voltageV: 1.16 }] })
  })

  it('replaces an expectation of one group alone', async () => {
    const { night } = await loaded('  expect mix holds small >= 2 GHz')
    expect(night.expected).toEqual(['mix holds small >= 2 GHz', 'mix holds >= 3 GHz'])
  })
})

describe('a key with a name', () => {
  const lines: readonly (readonly [kind: string, block: (inner: string) => string, first: string, other: string])[] = [
    ['steps', inner => `profile p {\n${inner}\n}`, 'steps broad { 1 core 50x }', 'steps small { 1 core 40x }'],
    [
      'bands',
      inner => `profile p {\n${inner}\n}`,
      'bands broad { 1 core above 70 °C -1x }',
      'bands { 1 core above 70 °C -1x }',
    ],
    ['vector', inner => `profile p {\n${inner}\n}`, 'vector broad -1x', 'vector -1x'],
    ['core', inner => `profile p { voltage {\n${inner}\n} }`, 'core broad needs', 'core small needs'],
    ['set', inner => `profile p { voltage {\n${inner}\n} }`, 'set broad 50x 1.2 V', 'set small 50x 1.2 V'],
    ['current', inner => `profile p { limits {\n${inner}\n} }`, 'current side 50 A', 'current 50 A'],
    ['load-line', inner => `board b {\n${inner}\n}`, 'load-line side 0.2 mΩ', 'load-line 0.2 mΩ'],
    ['core-voltage-step', inner => `board b {\n${inner}\n}`, 'core-voltage-step side 5 mV', 'core-voltage-step 5 mV'],
    ['menu', inner => `board b { menu {\n${inner}\n} }`, 'steps broad "A" "B"', 'steps "A" "B"'],
    ['cores', inner => `load l {\n${inner}\n}`, 'cores broad 2', 'cores small 2'],
    ['activity', inner => `load l { cores 2\n${inner}\n}`, 'activity broad 0.5', 'activity 0.5'],
    ['group', inner => `part p {\n${inner}\n}`, 'group broad { cores 2 }', 'group small { cores 2 }'],
  ]

  it.each(lines)('%s is given twice under one name, not under two', async (_, block, first, other) => {
    const duplicates = async (inner: string): Promise<number> => {
      const { service } = await loadFixture(`--- a.detent\ndetent 1\n${block(inner)}\n`)
      return service.findings(uriOf('a.detent')).filter(({ finding }) => finding.code === 'duplicate-key').length
    }
    expect(await duplicates(`${first}\n${other}`)).toBe(0)
    expect(await duplicates(`${first}\n${first}`)).toBe(1)
    expect(await duplicates(`${first}\n${other}\n${first}`)).toBe(1)
  })
})

describe('a name', () => {
  it('is there where one word more stands than without it, whatever it is', async () => {
    const odd = base.replaceAll('broad', 'return').replaceAll('small', 'needs')
    const { service } = await loadFixture(`--- a.detent\n${odd}`)
    const plain = await loadFixture(`--- a.detent\n${base}`)
    const figures = (of: typeof service) =>
      of.evaluations(uriOf('a.detent')).flatMap(({ predictions }) =>
        predictions.map(({ settled: { groups = [], ...settled } }) => ({
          dieC: settled.dieC,
          groups: groups.map(({ cores, clockMhz, setV }) => ({ cores, clockMhz, setV })),
        })),
      )
    const found = figures(service)
    expect(found.length).toBeGreaterThan(3)
    expect(found).toEqual(figures(plain.service))
    expect(service.findings(uriOf('a.detent')).filter(({ finding }) => finding.code === 'syntax')).toEqual([])
  })
})
