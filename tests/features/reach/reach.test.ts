import { afterEach, describe, expect, it, vi } from 'vitest'
import { reachInSlices } from '../../../server/features/reach/index.ts'
import { leversOf } from '../../../server/features/reach/levers/index.ts'
import type { Move, Reach } from '../../../server/features/reach/types.ts'
import { until } from '../../../server/features/reach/until.ts'
import { finished } from '../../../server/model/index.ts'
import { evaluate } from '../../../server/semantic/evaluate.ts'
import { applyEdits, reachWords, readExpectation } from '../../../server/service.ts'
import { loadFixture, uriOf } from '../../harness/fixture.ts'
import { benchWith, checkedText, newIn, reachOf } from './bench.ts'

/** What counts as an answer, how answers are sorted, what is never changed, and pairs. */

const applied = (text: string, reach: Reach, kind: string): string => {
  const answer = reach.answers.find(({ changes }) => changes[0]?.kind === kind)
  if (answer === undefined) throw new Error(`No ${kind} among ${JSON.stringify(reach.answers)}`)
  return applyEdits(
    text,
    answer.edits.flatMap(({ edits }) => edits),
  )
}
const kindsOf = ({ answers }: Reach): readonly string[] => answers.map(({ changes }) => changes[0]?.kind ?? '')

afterEach(() => vi.restoreAllMocks())

describe('the numbers that a change is looked at by', () => {
  it('are those of the text that it writes', async () => {
    const text = benchWith({
      bands: 'bands return 4 K {\n    1 to 4 cores   above 40 °C   -1x\n    3 to 4 cores   above 60 °C   -2x\n  }',
      voltage: 'core needs + 20 mV; set 44x 1.200 V; set 46x 1.240 V',
      limits: 'die 92 °C; sustained-power 0.05 kW over 30 s; burst-power 60 W; current 60 A',
      fan: 'fan { 20 °C 30 %; 60 °C 60 % }',
      cooler:
        'kind thermoelectric {\n  modules 3\n  module { at 30 °C; current 11 A; voltage 15.5 V; heat 105 W; difference 68 K }\n  drive-current 8 A\n  drive-when-off no\n  insulated yes\n  radiator { 30 % 0.10 K/W ± 0.01 K/W; 100 % 0.06 K/W }\n  block-resistance 0.03 K/W\n}'.replace(
          '0.06 K/W',
          '0.06 K/W',
        ),
      more: 'drive dew + 2 K',
    })
    const { service } = await loadFixture(text)
    const uri = uriOf('a.detent')
    const view = service.workspace.view(uri)
    const definition = view?.document.definitions.find(({ name }) => name === 'tuned')
    if (view === undefined || definition === undefined) throw new Error('not loaded')
    const base = evaluate(view.scope, definition)
    const levers = leversOf(
      base,
      view.scope,
      base.input.loads.filter(({ name }) => name === 'sort'),
    )
    let compared = 0
    const tried = async (move: Move): Promise<unknown> => {
      const edits = move.edits.map(({ chunk, start, end, text: inserted }) => {
        const offset = view.document.starts.get(chunk) ?? 0
        return { start: offset + start, end: offset + end, text: inserted }
      })
      const then = (await loadFixture(applyEdits(text, edits))).service
      const evaluation = then.evaluations(uri).find(({ profile }) => profile.definition.name === 'tuned')
      return { bench: evaluation?.input.bench, corners: evaluation?.input.corners }
    }
    const { bench, corners } = base.input
    if (bench === undefined) throw new Error('not predicted')
    for (const { name, moves } of levers) {
      for (const move of new Set([moves[0], moves[3], moves.at(-1)])) {
        if (move?.numbers === undefined) continue
        expect(move.numbers({ bench, corners }), `${name} ${move.to}`).toEqual(await tried(move))
        compared++
      }
    }
    expect(new Set(levers.map(({ kind }) => kind)).size).toBeGreaterThan(13)
    expect(compared).toBeGreaterThan(40)
  })
})

describe('an answer', () => {
  it('keeps every other expectation, and brings no error and no warning', async () => {
    const expectation = 'sort holds >= 4.6 GHz'
    const free = await reachOf(benchWith({}, expectation), expectation)
    expect(kindsOf(free)).toContain('step')
    const held = await reachOf(benchWith({}, expectation, 'sort power <= 57 W'), expectation)
    expect(kindsOf(held)).not.toContain('step')
    // 47x would ask for more voltage than the part allows.
    const mail = 'mail holds >= 4.7 GHz'
    expect(kindsOf(await reachOf(benchWith({}, mail), mail))).toContain('step')
    expect(kindsOf(await reachOf(benchWith({ voltage: 'core needs + 170 mV' }, mail), mail))).not.toContain('step')
  })

  it('stays at or below what part and module allow', async () => {
    const expectation = 'sort margin >= 900 W'
    const reach = await reachOf(benchWith({ limits: 'die 94 °C', step: '44x' }, expectation), expectation)
    expect(reach.answers).toEqual([])
    const text = benchWith({ limits: 'die 94 °C', step: '47x' })
    const { service } = await loadFixture(text)
    const view = service.workspace.view(uriOf('a.detent'))
    const definition = view?.document.definitions.find(({ name }) => name === 'tuned')
    if (view === undefined || definition === undefined) throw new Error('not loaded')
    const base = evaluate(view.scope, definition)
    const cases = base.input.loads.filter(({ name }) => name === 'sort')
    const levers = leversOf(base, view.scope, cases)
    const highest = (kind: string): number =>
      Math.max(...levers.filter(one => one.kind === kind).flatMap(({ moves }) => moves.map(({ to }) => Number(to))))
    expect([highest('die'), highest('step')]).toEqual([95, 50])
  })

  it('is written in the profile itself, never in its base', async () => {
    const base = benchWith({ bands: 'bands return 4 K {\n    1 to 4 cores   above 39 °C   -3x   # found by hand\n  }' })
    const expectation = 'sort holds >= 4.3 GHz'
    const text = `${base}\nprofile own based-on tuned {\n  expect ${expectation}\n}\n`
    const reach = await reachOf(text, expectation, 'own')
    const then = applied(text, reach, 'band-drop')
    expect(then.startsWith(base)).toBe(true)
    expect(then.slice(base.length)).toContain('above 39 °C')
    const checked = await checkedText(then)
    expect(checked.holding).toContain(`own: ${expectation}`)
    expect(newIn(checked.bad, (await checkedText(text)).bad)).toEqual([])
    // Its place is where it is written.
    const [change] = reach.answers.find(({ changes }) => changes[0]?.kind === 'band-drop')?.changes ?? []
    expect(text.slice(change?.offset).startsWith('tuned {\n  expect')).toBe(true)
  })

  it('of the bench is weighed by what it does to every profile on it', async () => {
    const expectation = 'sort power <= 50 W'
    const text = benchWith({}, expectation)
    expect(kindsOf(await reachOf(text, expectation))).toContain('load-cores')
    const steps = 'steps { 1 to 4 cores 44x }'
    const other = `${text}\nprofile other based-on tuned {\n  ${steps}\n  expect sort power >= 53 W\n}\n`
    const kinds = kindsOf(await reachOf(other, expectation))
    expect(kinds).toContain('step')
    expect(kinds).not.toContain('load-cores')
  })

  it('comes settings first, then by what it asks', async () => {
    const expectation = 'sort die <= 42.5 °C'
    const { answers } = await reachOf(benchWith({}, expectation), expectation)
    const order = answers.map(({ changes, asks }) => [changes.some(({ isBench }) => isBench), asks] as const)
    expect(order.length).toBeGreaterThan(3)
    expect(order).toEqual(order.toSorted((a, b) => Number(a[0]) - Number(b[0]) || a[1] - b[1]))
    expect([order[0]?.[0], order.at(-1)?.[0]]).toEqual([false, true])
  })

  it('names what other loads lose of their clock', async () => {
    const expectation = 'sort power <= 50 W'
    const loads = 'load weld { cores 3; activity 0.2 }'
    const reach = await reachOf(benchWith({ loads }, expectation), expectation)
    const step = reach.answers.find(({ changes }) => changes[0]?.kind === 'step')
    const steps = 44 - Number(step?.changes[0]?.to)
    expect(steps).toBeGreaterThan(0)
    expect(step?.costs).toEqual([{ load: 'weld', clockMhz: expect.closeTo(100 * steps, 6) }])
  })

  it('to a clock for a time is checked over time', async () => {
    const expectation = 'sort holds >= 4.4 GHz for 5 min'
    const values = (watts: number) => ({ limits: `die 92 °C; sustained-power ${watts} W over 30 s` })
    const reach = await reachOf(benchWith(values(50), expectation), expectation)
    const [change] = reach.answers.find(({ changes }) => changes[0]?.kind === 'sustained-power')?.changes ?? []
    const to = Number(change?.to)
    expect(to).toBeGreaterThan(50)
    expect((await checkedText(benchWith(values(to), expectation))).holding).toContain(`tuned: ${expectation}`)
    expect((await checkedText(benchWith(values(to - 1), expectation))).holding).not.toContain(`tuned: ${expectation}`)
  })
})

describe('the verdict', () => {
  it.each([
    [1, 0, '1 setting alone would do it.'],
    [3, 0, 'Any one of 3 settings would do it.'],
    [0, 1, 'No setting alone does it; 1 change of the bench would.'],
    [0, 2, 'No setting alone does it; any one of 2 changes of the bench would.'],
    [2, 1, 'Any one of these would do it: 2 settings, 1 change of the bench.'],
  ])('of %d settings and %d changes of the bench', async (settings, changes, text) => {
    const reach = await reachOf(benchWith({}), 'sort holds >= 4.6 GHz')
    const [setting, change] = [false, true].map(isBench =>
      reach.answers.find(one => one.changes.every(each => each.isBench === isBench)),
    )
    if (setting === undefined || change === undefined) throw new Error('the bench has an answer of each')
    const answers = [
      ...Array.from({ length: settings }, () => setting),
      ...Array.from({ length: changes }, () => change),
    ]
    expect(reachWords.verdictText({ ...reach, answers })).toBe(text)
  })
})

describe('a course', () => {
  const course = 'course shift {\n  idle 5 s\n  sort 40 s\n}\n'
  const asked = 'course shift die <= 38 °C'
  const at = (step: number): string => `${benchWith({ step: `${step}x` }, asked)}\n${course}`

  it('is reached by settings of its loads, checked from start to end', async () => {
    const reach = await reachOf(at(44), asked)
    expect(reach.now.holds).toBe(false)
    const [change] = reach.answers.find(({ changes }) => changes[0]?.kind === 'step')?.changes ?? []
    const to = Number(change?.to)
    expect(to).toBeLessThan(44)
    expect((await checkedText(at(to))).holding).toContain(`tuned: ${asked}`)
    expect((await checkedText(at(to + 1))).holding).not.toContain(`tuned: ${asked}`)
  })

  it('is named, or there is none', async () => {
    await expect(reachOf(at(44), 'course shfit die <= 38 °C')).rejects.toThrow(
      'There is no course shfit here; did you mean shift?',
    )
  })
})

describe('pairs', () => {
  // A limit and a step keep the clock: neither alone lets it through.
  const expectation = 'sort holds >= 4.6 GHz'
  const at = (step: number, watts: number, ...more: readonly string[]): string =>
    benchWith({ step: `${step}x`, limits: `die 92 °C; burst-power ${watts} W` }, expectation, ...more)

  it('are looked for where nothing alone does it, least sum first', async () => {
    const text = at(44, 52, 'mail voltage <= 1.2 V')
    const reach = await reachOf(text.replace('cores 4; activity', 'cores 3 to 4; activity'), expectation)
    expect(reach.answers.map(({ changes }) => changes)).toEqual([])
    expect(reach.looked?.isCut).toBe(false)
    const [pair] = reach.pairs
    expect(pair?.changes.map(({ kind }) => kind).sort()).toEqual(['burst-power', 'step'])
    expect(pair?.asks).toBe(reach.looked?.asks)
    const then = applyEdits(
      text.replace('cores 4; activity', 'cores 3 to 4; activity'),
      pair?.edits.flatMap(({ edits }) => edits) ?? [],
    )
    expect((await checkedText(then)).holding).toContain(`tuned: ${expectation}`)
    const [watts = 0] = pair?.changes.flatMap(({ kind, to }) => (kind === 'burst-power' ? [Number(to)] : [])) ?? []
    expect((await checkedText(at(46, watts - 10))).holding).not.toContain(`tuned: ${expectation}`)
  })

  it('are left when the time is up, and it is said how far they were tried', async () => {
    const { service } = await loadFixture(at(44, 52))
    const sourced = readExpectation(expectation).sourced
    const facts = { evidence: service.bench.evidence, severities: {} }
    const uri = uriOf('a.detent')
    const reach = finished(reachInSlices(service.workspace, uri, 'tuned', sourced, { ...facts, pairsWithinMs: 0 }))
    // A load of fewer cores is an answer of the bench there, so pairs are not looked for; without it they are.
    expect(reach.looked).toBeUndefined()
    const ranged = (await loadFixture(at(44, 52).replace('cores 4; activity', 'cores 3 to 4; activity'))).service
    const cut = finished(reachInSlices(ranged.workspace, uri, 'tuned', sourced, { ...facts, pairsWithinMs: 0 }))
    expect(cut.looked).toEqual({ asks: 1, isCut: true })
    expect(reachWords.verdictText(cut)).toContain('no pair of settings could be tried in full before 20 s were up')
  })

  it('of a course are left when the time is up since single changes were looked for', async () => {
    const course = 'course shift {\n  idle 5 s\n  sort 10 s\n}\n'
    const { service } = await loadFixture(`${benchWith({})}\n${course}`)
    const { sourced } = readExpectation('course shift die <= 25.5 °C')
    let now = 0
    vi.spyOn(performance, 'now').mockImplementation(() => now)
    const work = (withinMs: number): Generator<undefined, Reach> => {
      const facts = { evidence: service.bench.evidence, severities: {}, pairsWithinMs: withinMs }
      return reachInSlices(service.workspace, uriOf('a.detent'), 'tuned', sourced, facts)
    }
    let alone = 0
    for (const slices = work(0); slices.next().done !== true; ) alone++
    const slices = work(20)
    for (let done = 1; done < alone; done++) slices.next()
    now = 21
    expect(finished(slices)).toMatchObject({ answers: [], pairs: [], looked: { asks: 1, isCut: true } })
  })

  it('are left in the middle of one where the time is up then', () => {
    let now = 0
    vi.spyOn(performance, 'now').mockImplementation(() => now)
    const work = function* (lastsMs: number): Generator<undefined, string> {
      for (const beganMs = now; now < beganMs + lastsMs; now++) yield
      return 'done'
    }
    expect(finished(until(20, work(19)))).toBe('done')
    expect(finished(until(25, work(1000)))).toBe('late')
    expect(now).toBeLessThan(30)
  })
})

it('is left for other work after each check of each profile', async () => {
  const asked = 'sort holds >= 4.6 GHz'
  const facts = { evidence: () => undefined, severities: {} }
  /** How often the work is left, with so many more profiles in the file. */
  const slices = async (more: number): Promise<number> => {
    const own = (_: unknown, index: number): string =>
      `profile more-${index} {\n  based-on tuned\n  limits { sustained-power ${150 + index} W }\n}\n`
    const text = benchWith({}, 'mail voltage <= 1.2 V') + Array.from({ length: more }, own).join('')
    const { service } = await loadFixture(text)
    const work = reachInSlices(service.workspace, uriOf('a.detent'), 'tuned', readExpectation(asked).sourced, facts)
    let count = 0
    for (const _ of work) count++
    return count
  }
  const more = 8
  // A profile has more than twenty checks, whatever else is looked at.
  expect(((await slices(more)) - (await slices(0))) / more).toBeGreaterThan(20)
})
