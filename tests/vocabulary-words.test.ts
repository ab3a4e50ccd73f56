import { describe, expect, it } from 'vitest'
import { courseWords } from '../grammar/vocabulary/course.ts'
import { vocabulary, type Word } from '../grammar/vocabulary/index.ts'
import { singleSlots } from '../grammar/vocabulary/slots.ts'
import { runRecords } from '../server/bench/run/record.ts'
import { fittedRecord } from '../server/semantic/fitted.ts'
import { allFiguresOf, courseFigures, createService, finished, followAllInSlices } from '../server/service.ts'
import { memoryFiles } from './harness/file-systems.ts'
import { bench, extra } from './harness/words-bench.ts'

/**
 * Every word of the vocabulary has a bench in which changing its value changes a prediction, a finding or what an
 * expectation comes to; words that are merely carried are listed, and the list is checked as well.
 */

interface Change {
  readonly from: string
  readonly to: string
  /** Changes of the bench before the word's own, where it has nothing to say in the bench as it is. */
  readonly first?: readonly (readonly [string, string])[]
}

const change = (from: string, to: string, ...first: (readonly [string, string])[]): Change => ({ from, to, first })

const chilled: readonly [string, string][] = [
  ['kind thermoelectric {', 'kind chilled {\n  coolant 8 °C\n  capacity 150 W\n  beyond 0.08 K/W'],
  ['  modules 3\n', ''],
  ['  module { at 27 °C; current 15 A; voltage 15.4 V; heat 142 W; difference 68 K }\n', ''],
  ['  drive-current 7 A\n  drive-when-off no\n', ''],
  ['  radiator {\n    20 %  0.090 K/W\n    100 % 0.040 K/W\n  }\n', ''],
  ['  coolant-heat 3000 J/K\n', ''],
]
const constants: readonly [string, string] = [
  'module { at 27 °C; current 15 A; voltage 15.4 V; heat 142 W; difference 68 K }',
  'module { seebeck 53 mV/K; resistance 0.80 Ω; conductance 1.4 W/K }',
]
const driven: readonly [string, string] = ['drive dew + 2 K', 'drive full']
const supplied: readonly [string, string] = ['drive dew + 2 K', 'drive supply 12 V']
const lasting: readonly [string, string] = ['expect all power <= 200 W', 'expect all holds >= 5.0 GHz for 60 s']

/** Voltages that were seen in place of those that are needed. */
const seen: readonly [string, string] = [
  '  needs {\n    40x   1.000 V\n    54x   1.300 V\n  }',
  '  known { 5 GHz 1.29 V }',
]

/** The part's cores as two kinds, and a load that keeps both busy. */
const grouped: readonly [string, string] = [
  '  needs-at 60 °C\n',
  '  needs-at 60 °C\n  group broad { cores 4 }\n  group slim { cores 4; switching 1.0 nF }\n',
]
/** A short evening in the bench. */
const evening = (...lines: string[]): readonly [string, string] => [
  'run evening of',
  `course night {\n  ${lines.join('\n  ')}\n}\n\nrun evening of`,
]
const night = evening('start room', 'idle 10 s', 'all 20 s', 'idle 10 s')
/** Something fails under a settled load. */
const failing = (fault: string): readonly [string, string] =>
  evening('start settled all', 'all 5 s', `fault ${fault}`, 'all 20 s')

/** Two uncertain constants, and an expectation that they decide. */
const spread: readonly (readonly [string, string])[] = [
  ['switching 2.2 nF', 'switching 2.2 nF ± 0.1 nF'],
  ['leakage 16 W', 'leakage 16 W ± 3 W'],
  ['expect all power <= 200 W', 'expect pair power <= 58 W'],
  ['  idle-power 9 W\n', '  idle-power 9 W\n  correlated switching leakage -0.5\n'],
]

/** By the place (`any` for words that may stand everywhere) and the word (`row` for the rows of a table). */
const changes: Readonly<Record<string, Change>> = {
  'file detent': change('detent 1', 'detent 2'),
  'file use': change('use "extra.detent"', 'use "nowhere.detent"'),
  'file part': change('part sample {', 'part other {'),
  'file cooler': change('cooler stack kind', 'cooler other kind'),
  'file room': change('room den {', 'room other {'),
  'file board': change('board desk {', 'board other {'),
  'file load': change('load pair {', 'load two {'),
  'file profile': change('profile daily {', 'profile weekly {'),
  'any allow': change('allow unused-name', 'allow steps-gap'),
  'part cores': change('cores 8\n  reference', 'cores 10\n  reference'),
  'part group': change('\n  group slim { cores 4; switching 1.0 nF }', '\n  group slim { cores 4 }', grouped),
  'group rail': change('switching 1.0 nF; rail side }', 'switching 1.0 nF }', grouped, [
    'switching 1.0 nF }',
    'needs { 40x 1.10 V; 54x 1.36 V }; switching 1.0 nF; rail side }',
  ]),
  'part reference': change('reference 100 MHz', 'reference 101 MHz'),
  'part ratio': change('ratio 8x to 60x', 'ratio 8x to 51x'),
  'part ratio-step': change('ratio-step 1x', 'ratio-step 0.5x'),
  'part core-voltage': change('0.65 V to 1.50 V', '0.65 V to 1.25 V'),
  'part die-limit': change('die-limit 100 °C', 'die-limit 85 °C'),
  'part trip': change('trip 112 °C', 'trip 40 °C'),
  'part needs': change('  needs {\n    40x   1.000 V\n    54x   1.300 V\n  }', '  needs { 40x 1.000 V }'),
  'needs row': change('54x   1.300 V', '54x   1.310 V'),
  'part known': change('  known { 5 GHz 1.29 V }', '', seen),
  'known row': change('1.29 V', '1.28 V', seen),
  'part needs-at': change('needs-at 60 °C', 'needs-at 50 °C'),
  'part needs-slope': change('needs-slope 0.4 mV/K', 'needs-slope 0.5 mV/K'),
  'part vector-needs': change('vector-needs 20 mV', 'vector-needs 25 mV'),
  'part proof': change(
    'proof 95 % for 1 h',
    'proof 99 % for 8 h',
    ['die-heat 12 J/K\n', 'die-heat 12 J/K\n  proof 95 % for 1 h\n'],
    ['expect all power <= 200 W', 'expect all stable >= 50 % for 1 h'],
    ['clock 4.7 GHz', 'clock 5.0 GHz'],
  ),
  'part switching': change('switching 2.2 nF', 'switching 2.1 nF'),
  'part leakage': change('leakage 16 W', 'leakage 17 W'),
  'part leakage-doubling': change('leakage-doubling 28 K', 'leakage-doubling 30 K'),
  'part leakage-exponent': change('leakage-exponent 3', 'leakage-exponent 4'),
  'part shared-power': change('shared-power 12 W', 'shared-power 13 W'),
  'part idle-power': change('idle-power 9 W', 'idle-power 10 W'),
  'part package-resistance': change('package-resistance 0.11 K/W', 'package-resistance 0.12 K/W'),
  'part core-resistance': change('core-resistance 0.55 K/W', 'core-resistance 0.60 K/W'),
  'part die-heat': change('die-heat 12 J/K', 'die-heat 120 J/K', lasting),
  'cooler block-resistance': change('block-resistance 0.03 K/W', 'block-resistance 0.04 K/W'),
  'cooler radiator': change('radiator {\n    20 %  0.090 K/W', 'radiator {'),
  'radiator row': change('100 % 0.040 K/W', '100 % 0.045 K/W'),
  'cooler correlated': change(
    'correlated block-resistance radiator 20 % -0.5',
    'correlated block-resistance radiator 20 % 0.9',
    [
      'block-resistance 0.03 K/W',
      'block-resistance 0.03 K/W ± 0.01 K/W\n  correlated block-resistance radiator 20 % -0.5',
    ],
    ['20 %  0.090 K/W', '20 %  0.090 K/W ± 0.03 K/W'],
    ['expect all power <= 200 W', 'expect all power <= 125 W'],
  ),
  'cooler rating': change('rating 400 W', 'rating 100 W'),
  'cooler insulated': change('insulated no', 'insulated yes', driven),
  'cooler plate-heat': change('plate-heat 150 J/K', 'plate-heat 300 J/K', lasting),
  'cooler coolant-heat': change('coolant-heat 3000 J/K', 'coolant-heat 500 J/K', lasting),
  'cooler coolant': change('coolant 8 °C', 'coolant 9 °C', ...chilled),
  'cooler capacity': change('capacity 150 W', 'capacity 160 W', ...chilled),
  'cooler beyond': change('beyond 0.08 K/W', 'beyond 0.09 K/W', ...chilled),
  'cooler modules': change('modules 3', 'modules 2', driven),
  'cooler module': change(...constants, driven),
  'cooler drive-current': change('drive-current 7 A', 'drive-current 6 A', driven),
  'cooler wiring': change('wiring 3 by 1', 'wiring 1 by 3', supplied, [
    '  drive-when-off no',
    '  wiring 3 by 1\n  drive-when-off no',
  ]),
  'cooler leads': change('leads 20 mΩ', 'leads 40 mΩ', supplied, [
    '  drive-when-off no',
    '  leads 20 mΩ\n  drive-when-off no',
  ]),
  'cooler supply-limit': change('supply-limit 2 A', 'supply-limit 1.5 A', supplied, [
    '  drive-when-off no',
    '  supply-limit 2 A\n  drive-when-off no',
  ]),
  'cooler plate-leak': change('plate-leak 0.4 W/K', 'plate-leak 0.6 W/K', driven, [
    '  drive-when-off no',
    '  plate-leak 0.4 W/K\n  drive-when-off no',
  ]),
  'cooler drive-when-off': change('drive-when-off no', 'drive-when-off yes'),
  'cooler drive-lag': change('drive-lag 15 s', 'drive-lag 10 s', night, [
    '  drive-when-off no',
    '  drive-lag 15 s\n  drive-when-off no',
  ]),
  'file course': change('course night {', 'course day {', night),
  'course start': change('start room', 'start idle', night),
  'course row': change('all 20 s', 'all 25 s', night),
  'course fault': change('fault pump 40 %', 'fault pump 20 %', failing('pump 40 %')),
  'module at': change('at 27 °C', 'at 50 °C', driven),
  'module current': change('current 15 A', 'current 14 A', driven),
  'module voltage': change('voltage 15.4 V', 'voltage 15 V', driven),
  'module heat': change('heat 142 W', 'heat 180 W'),
  'module difference': change('difference 68 K', 'difference 66 K', driven),
  'module seebeck': change('seebeck 53 mV/K', 'seebeck 52 mV/K', constants, driven),
  'module resistance': change('resistance 0.80 Ω', 'resistance 0.85 Ω', constants, driven),
  'module conductance': change('conductance 1.4 W/K', 'conductance 1.5 W/K', constants, driven),
  'module constants-at': change('constants-at 20 °C', 'constants-at 40 °C', constants, driven, [
    'conductance 1.4 W/K }',
    'conductance 1.4 W/K; constants-at 20 °C }',
  ]),
  'room air': change('air 20 °C to 24 °C', 'air 20 °C to 25 °C'),
  'room humidity': change('humidity 40 %\n}', 'humidity 45 %\n}'),
  'board core-voltage-step': change('core-voltage-step 5 mV', 'core-voltage-step 25 mV'),
  'board load-line': change('load-line 0.4 mΩ', 'load-line 0.5 mΩ'),
  'board supply': change('supply 850 W', 'supply 200 W'),
  'board other-power': change('other-power 60 W', 'other-power 800 W'),
  'load cores': change('load pair { cores 2;', 'load pair { cores 3;'),
  'load activity': change('activity 0.9', 'activity 0.8'),
  'load uneven': change('{ cores 2; activity 0.9 }', '{ cores 2; activity 0.9; uneven 1.4 }'),
  'load vector': change('vector yes', 'vector no'),
  'profile part': change('  part sample\n', '  part missing\n'),
  'profile cooler': change('  cooler stack\n', '  cooler missing\n'),
  'profile room': change('  room den\n', '  room spare\n'),
  'profile board': change('  board desk\n', ''),
  'profile steps': change('  steps {\n    1 to 4 cores   52x\n', '  steps {\n'),
  'steps row': change('5 to 8 cores   50x', '5 to 8 cores   44x'),
  'profile bands': change('bands return 3 K', 'bands return 2 K', ['above 40 °C  -1x', 'above 24 °C  -8x']),
  'bands row': change('above 40 °C  -1x', 'above 25 °C  -1x'),
  'profile vector': change('vector -1x', 'vector -6x'),
  'profile voltage': change('  voltage {\n    core needs + 60 mV\n    set 52x 1.330 V\n  }\n', ''),
  'voltage core': change('core needs + 60 mV', 'core needs + 90 mV'),
  'voltage set': change('set 52x 1.330 V', 'set 52x 1.335 V'),
  'profile limits': change('limits {\n    die 95 °C\n    sustained-power 125 W over 30 s', 'limits {'),
  'limits die': change('die 95 °C', 'die 90 °C'),
  'limits sustained-power': change('sustained-power 125 W', 'sustained-power 120 W'),
  'limits burst-power': change('burst-power 260 W', 'burst-power 100 W'),
  'limits current': change('current 220 A', 'current 80 A'),
  'profile drive': change('drive dew + 2 K', 'drive off'),
  'profile fan': change('  fan {\n    24 °C   25 %\n    40 °C   100 %\n  }\n', ''),
  'fan row': change('24 °C   25 %', '24 °C   40 %'),
  'part correlated': change('correlated switching leakage -0.5', 'correlated switching leakage 0.9', ...spread),
  'file fitted': change('fitted sample {', 'fitted simple {'),
  'fitted constant': change('from 2 nF ± 0.6 nF usual', 'from 2 nF ± 0.7 nF usual'),
  'fitted counted': change('counted evening', 'counted morning'),
  'fitted correlated': change('switching shared-power -0.4', 'switching shared-power 0.4', ...spread, [
    'shared-power 12 W',
    'shared-power 12 W ± 4 W',
  ]),
  'file run': change('run evening of', 'run morning of'),
  'run revision': change('revision "3fa81c0"', 'revision "4fa81c0"'),
  'run air': change('air 21.5 °C', 'air 22.5 °C'),
  'run humidity': change('humidity 47 %', 'humidity 57 %'),
  'run log': change('log "evening.csv"', 'log "morning.csv"'),
  'log column': change('column power "package" W', 'column power "package" mW'),
  'log delimiter': change('delimiter semicolon', 'delimiter tab'),
  'log decimal': change('decimal comma', 'decimal point'),
  'run measured': change(
    '  measured { clock 4.7 GHz; voltage 1.2 V; power 150 W; die 64 °C; plate 30 °C; coolant 28 °C; current 120 A; drive 3 A; drive-voltage 20 V; fan 60 % }\n',
    '',
  ),
  'measured clock': change('clock 4.7 GHz', 'clock 4.8 GHz'),
  'measured voltage': change('voltage 1.2 V', 'voltage 1.3 V'),
  'measured power': change('power 150 W', 'power 160 W'),
  'measured die': change('die 64 °C', 'die 65 °C'),
  'measured plate': change('plate 30 °C', 'plate 31 °C'),
  'measured coolant': change('coolant 28 °C', 'coolant 29 °C'),
  'measured current': change('current 120 A', 'current 130 A'),
  'measured drive': change('drive 3 A', 'drive 3.1 A'),
  'measured drive-voltage': change('drive-voltage 20 V', 'drive-voltage 21 V'),
  'measured fan': change('fan 60 %', 'fan 70 %'),
  'run score': change('score 18240 "points"', 'score 18250 "points"'),
  'run held': change('held 30 min', 'held 20 min'),
  'run stopped': change('stopped after 12 min', 'stopped after 2 min', ['held 30 min', 'stopped after 12 min "hang"']),
  'profile expect': change('expect all power <= 200 W', 'expect all power <= 100 W'),
}

/** Carried to hovers, reports and sheets; they change no prediction and no finding. */
const carried: Readonly<Record<string, Change>> = {
  'any note': change('note "for every day"', 'note "for Sundays"'),
  'any source': change('source "made up"', 'source "measured"'),
  'profile also': change('  also {\n    "memory clock" "3200 MT/s"\n  }\n', ''),
  'also row': change('"3200 MT/s"', '"3600 MT/s"'),
  'board menu': change('  menu {\n    core-voltage "First page" "Feed"\n  }\n', ''),
  'menu row': change('"First page"', '"Second page"'),
  'run date': change('date 2026-01-12', 'date 2026-01-13'),
}

const keyOf = (word: Word): string => `${word.in.length > 3 ? 'any' : word.in[0]} ${word.word || 'row'}`

function replaceOnce(text: string, from: string, to: string): string {
  const pieces = text.split(from)
  if (pieces.length !== 2) throw new Error(`“${from}” stands ${pieces.length - 1} times in the bench`)
  return pieces.join(to)
}

/** Most words are changed in the same bench: what comes of a text is worked out once. */
const outcomes = new Map<string, Promise<string>>()

function outcome(text: string): Promise<string> {
  const known = outcomes.get(text) ?? workedOut(text)
  outcomes.set(text, known)
  return known
}

/** All that is found, predicted and judged for a text, without places, which move with any text. */
async function workedOut(text: string): Promise<string> {
  const uri = 'file:///words/main.detent'
  const service = createService(memoryFiles({ [uri]: text, 'file:///words/extra.detent': extra }))
  await service.workspace.load([uri])
  for (const evaluation of service.evaluations(uri)) service.expectations(evaluation)
  service.runs.makeAll()
  const findings = service.findings(uri).map(({ finding }) => {
    const { code, severity, message, profile, load, room } = finding
    return { code, severity, message, profile, load, room }
  })
  const profiles = service.evaluations(uri).map(evaluation => ({
    figures: allFiguresOf(evaluation),
    judged: service
      .expectations(evaluation)
      .map(one => ({ predicted: one.predicted, holds: one.holds, probability: service.probability(evaluation, one) })),
    courses: evaluation.profile.courses.map(course => {
      const followed = finished(followAllInSlices(evaluation, course))
      return followed.at.map(one => courseFigures(followed, one, () => 0))
    }),
  }))
  // Runs change no prediction; what they change is the record that predictions are compared with.
  const runs = runRecords(service.workspace.document(uri)?.definitions ?? []).map(
    ({ name, profile, load, revision, air, humidity, log, measured, scores, outcome }) => ({
      ...{ name, profile, load, revision, air, humidity, measured, scores, outcome },
      log: log && {
        ...log,
        pathSpan: undefined,
        columns: log.columns.map(({ kind, header, unit }) => ({ kind, header, unit })),
      },
    }),
  )
  // The same goes for what a fit starts from.
  const definitions = service.workspace.document(uri)?.definitions ?? []
  const fitted = definitions.flatMap(one => {
    const { constants, runs: counted } = fittedRecord(one)
    const numbers = constants.map(({ key, after, before, wasUsual }) => ({ key, after, before, wasUsual }))
    return one.kind === 'fitted' ? [{ of: one.name, numbers, counted }] : []
  })
  return JSON.stringify({ findings, profiles, runs, fitted }, undefined, 1)
}

async function beforeAndAfter({ from, to, first = [] }: Change): Promise<readonly [string, string]> {
  const before = first.reduce((text, [old, fresh]) => replaceOnce(text, old, fresh), bench)
  return [await outcome(before), await outcome(replaceOnce(before, from, to))]
}

const keys = vocabulary.map(keyOf)

describe('the bench of the words', () => {
  it('is predicted, with nothing wrong in it', async () => {
    const { findings, profiles } = JSON.parse(await outcome(bench)) as {
      readonly findings: readonly { readonly severity: string }[]
      readonly profiles: readonly { readonly figures: readonly unknown[] }[]
    }
    expect(findings.filter(finding => finding.severity === 'error')).toEqual([])
    // Three loads and idle, at two ends of the air's range.
    expect(profiles[0]?.figures).toHaveLength(8)
  })

  it('gives each word one key', () => {
    expect(new Set(keys).size).toBe(keys.length)
  })
})

describe('every word of the vocabulary', () => {
  it('has an entry here', () => {
    const known = new Set([...Object.keys(changes), ...Object.keys(carried)])
    expect(keys.filter(key => !known.has(key))).toEqual([])
    expect([...known].filter(key => !keys.includes(key))).toEqual([])
  })

  it('is carried only where the vocabulary says so', () => {
    const said = vocabulary.filter(word => word.carried === true).map(keyOf)
    expect(said.sort()).toEqual(Object.keys(carried).sort())
  })

  it.each(Object.keys(changes))('%s: another value changes a prediction, a finding or a judgement', async key => {
    const [before, after] = await beforeAndAfter(changes[key]!)
    expect(after).not.toBe(before)
  })

  it.each(vocabulary.filter(word => word.judges === true).map(keyOf))(
    '%s: another value changes what is found or expected, and no prediction',
    async key => {
      const figures = (text: string): unknown =>
        (JSON.parse(text) as { readonly profiles: readonly { readonly figures: unknown }[] }).profiles.map(
          profile => profile.figures,
        )
      const [before, after] = await beforeAndAfter(changes[key]!)
      expect(figures(after)).toEqual(figures(before))
    },
  )

  it.each(Object.keys(carried))('%s: another value changes nothing that is predicted', async key => {
    const [before, after] = await beforeAndAfter(carried[key]!)
    expect(after).toBe(before)
  })
})

describe('a course', () => {
  const cases: Readonly<Record<string, Change>> = {
    'from what a load has settled at': change('start settled all', 'start idle', failing('pump 100 %')),
    'of another load': change('all 20 s', 'pair 20 s', night),
    'that waits for a warmer plate': change(
      'until plate <= 16',
      'until plate <= 19',
      evening('start room', 'idle until plate <= 16 °C'),
    ),
    'that waits for the die': change('until die >= 30', 'until die >= 35', evening('all until die >= 30 °C')),
    'that waits for the coolant': change(
      'until coolant >= 22',
      'until coolant >= 23',
      evening('all until coolant >= 22 °C'),
    ),
    'that waits the other way': change('until die >= 30', 'until die <= 30', evening('all until die >= 30 °C')),
    'that waits longer': change('within 10 s', 'within 20 s', evening('idle until die >= 90 °C within 10 s')),
    'with its fan at another duty': change('fault fan 40 %', 'fault fan 10 %', failing('fan 40 %')),
    'with its fan below what was measured': change('fault fan 10 %', 'fault fan 0 %', failing('fan 10 %')),
    'with a dirtier radiator': change('fault radiator 150 %', 'fault radiator 200 %', failing('radiator 150 %')),
    'with its drive off': change('fault drive off', 'fault drive on', failing('drive off')),
    'with a weaker chiller': change('fault chiller 50 %', 'fault chiller 20 %', ...chilled, failing('chiller 50 %')),
    'that is off': change('off 10 s', 'idle 10 s', evening('all 20 s', 'off 10 s')),
    'whose plate stays driven while off': change(
      'drive-when-off no',
      'drive-when-off yes',
      evening('all 20 s', 'off 10 s'),
    ),
  }
  // Listed from the table of words, so that a new one needs its case.
  const listed = courseWords
    .flatMap(({ forms }) => forms.flatMap(singleSlots))
    .flatMap(slot => (slot.slot === 'choice' ? slot.words : slot.slot === 'literal' ? [slot.word] : []))
  const cased = [...Object.values(cases), ...['start', 'row', 'fault'].map(word => changes[`course ${word}`]!)]
  it.each([...new Set(listed)])('has a case for its word %s', word => {
    const isSaid = ({ from, to }: Change): boolean => `${from} ${to}`.split(/[^a-z]+/).includes(word)
    expect(cased.some(isSaid)).toBe(true)
  })

  it.each(Object.keys(cases))('%s comes to something else', async key => {
    const courses = async (text: string): Promise<string> => {
      const { profiles } = JSON.parse(await outcome(text)) as { readonly profiles: readonly { courses: unknown }[] }
      return JSON.stringify(profiles[0]?.courses)
    }
    const { from, to, first = [] } = cases[key]!
    const before = first.reduce((text, [old, fresh]) => replaceOnce(text, old, fresh), bench)
    const found = await courses(before)
    expect(found).toContain('"end_s"')
    expect(await courses(replaceOnce(before, from, to))).not.toBe(found)
  })
})
