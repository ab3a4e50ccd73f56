import { describe, expect, it } from 'vitest'
import type { Value } from '../../grammar/values.ts'
import type { Place } from '../../grammar/vocabulary/index.ts'
import { readMarked } from './helpers.ts'

/** A value as the checks see it, in base units. */
function valueText(value: Value): string {
  const spread =
    'uncertainty' in value && value.uncertainty !== undefined ? ` ± ${+value.uncertainty.toPrecision(12)}` : ''
  switch (value.kind) {
    case 'quantity':
      return `${value.value} ${value.dimension}${spread}`
    case 'number':
      return `${value.value}${spread}`
    case 'range':
      return `${value.low.value}..${value.high.value} ${value.low.dimension}`
    case 'counts':
      return `${value.from}..${value.to}`
    case 'unit':
      return `unit ${value.unit.symbol}`
    default:
      return `${value.kind} ${value.text}`
  }
}

type Block = Exclude<Place, 'file' | 'known'>

const around: Readonly<Record<Block, (line: string) => string>> = {
  part: line => `part a {\n  ${line} <<\n}\n`,
  group: line => `part a {\n  group b {\n    ${line} <<\n  }\n}\n`,
  needs: line => `part a {\n  needs {\n    ${line} <<\n  }\n}\n`,
  cooler: line => `cooler a kind loop {\n  ${line} <<\n}\n`,
  module: line => `cooler a kind thermoelectric {\n  module {\n    ${line} <<\n  }\n}\n`,
  radiator: line => `cooler a kind loop {\n  radiator {\n    ${line} <<\n  }\n}\n`,
  room: line => `room a {\n  ${line} <<\n}\n`,
  board: line => `board a {\n  ${line} <<\n}\n`,
  menu: line => `board a {\n  menu {\n    ${line} <<\n  }\n}\n`,
  load: line => `load a {\n  ${line} <<\n}\n`,
  profile: line => `profile a {\n  ${line} <<\n}\n`,
  bands: line => `profile a {\n  bands {\n    ${line} <<\n  }\n}\n`,
  steps: line => `profile a {\n  steps {\n    ${line} <<\n  }\n}\n`,
  voltage: line => `profile a {\n  voltage {\n    ${line} <<\n  }\n}\n`,
  limits: line => `profile a {\n  limits {\n    ${line} <<\n  }\n}\n`,
  fan: line => `profile a {\n  fan {\n    ${line} <<\n  }\n}\n`,
  also: line => `profile a {\n  also {\n    ${line} <<\n  }\n}\n`,
  run: line => `run a of b under c {\n  ${line} <<\n}\n`,
  log: line => `run a of b under c {\n  log "x.csv" {\n    ${line} <<\n  }\n}\n`,
  fitted: line => `fitted a {\n  ${line} <<\n}\n`,
  course: line => `course a {\n  ${line} <<\n}\n`,
  measured: line => `run a of b under c {\n  measured {\n    ${line} <<\n  }\n}\n`,
}

/** The values that a line gives: it must match without a problem. */
function check(block: Block, line: string, values: Readonly<Record<string, string>>): void {
  const { match, problems } = readMarked(around[block](line))
  expect(problems).toEqual([])
  expect(match.sound).toBe(true)
  expect(Object.fromEntries([...match.values].map(([name, value]) => [name, valueText(value)]))).toEqual(values)
}

/** The problems that a line gives, all of them. */
function checkProblems(block: Block, line: string, ...problems: string[]): void {
  const read = readMarked(around[block](line))
  expect(read.problems).toEqual(problems)
  expect(read.match.sound).toBe(false)
}

describe('quantities', () => {
  it('are read in the base unit', () => {
    check('part', 'reference 100 MHz', { value: '0.1 frequency' })
    check('board', 'load-line 0.4mΩ', { value: '0.0004 resistance' })
    check('part', 'leakage 16 W at 1200 mV 60 °C', {
      power: '16 power',
      voltage: '1.2 voltage',
      temperature: '60 temperature',
    })
    check('needs', '44x 1.085 V', { ratio: '44 ratio', voltage: '1.085 voltage' })
    check('radiator', '20 % 90 mK/W', { duty: '20 percent', resistance: '0.09 thermal-resistance' })
    check('fan', '24 °C 25 %', { coolant: '24 temperature', duty: '25 percent' })
  })

  it('need a unit', () => {
    checkProblems('part', 'reference 100', 'unit-missing "100" -> GHz')
    checkProblems('needs', '44 1.085 V', 'unit-missing "44" -> x')
    checkProblems('part', 'leakage 16 at 1.2 60 °C', 'unit-missing "16" -> W', 'unit-missing "1.2" -> V')
  })

  it('need a unit of their dimension', () => {
    checkProblems('part', 'reference 100 V', 'unit-mismatch "100 V" V -> none')
    checkProblems('part', 'die-limit 100 K', 'unit-mismatch "100 K" K -> °C')
    checkProblems('part', 'leakage-doubling 28 °C', 'unit-mismatch "28 °C" °C -> K')
    checkProblems('bands', '1 to 2 cores above 45 K -1x', 'unit-mismatch "45 K" K -> °C')
  })

  it('tell the unit that was meant', () => {
    checkProblems('part', 'reference 100 mhz', 'unknown-word "mhz" of MHz')
    checkProblems('board', 'supply 850 w', 'unknown-word "w" of W')
  })

  it('need a number', () => {
    checkProblems('part', 'reference', 'expected "reference" a frequency in GHz')
    checkProblems('part', 'reference fast', 'expected "fast" a frequency in GHz')
    checkProblems('part', 'reference + 100 MHz', 'expected "+" a frequency in GHz')
    checkProblems('part', 'leakage 16 W at 1.2 V', 'expected "1.2 V" a temperature in °C')
  })

  it('end where their form ends', () => {
    checkProblems('part', 'reference 100 MHz twice 3', 'unexpected "twice 3"')
    checkProblems('board', 'supply 850 W ± 5 W', 'unexpected "± 5 W"')
  })

  it('may be negative where their bounds allow it', () => {
    check('cooler', 'coolant -20 °C', { value: '-20 temperature' })
    check('part', 'needs-slope -0.2 mV/K', { value: '-0.0002 voltage-per-kelvin' })
    check('room', 'air -10 °C to 5 °C', { value: '-10..5 temperature' })
    checkProblems('part', 'shared-power -3 W', 'value-range "-3 W" {"min":0}W')
    checkProblems('room', 'air -50 °C', 'value-range "-50 °C" {"min":-40,"max":60}°C')
  })

  it('keep to their bounds', () => {
    checkProblems('part', 'reference 0 MHz', 'value-range "0 MHz" {"above":0}GHz')
    checkProblems('part', 'die-limit 500 °C', 'value-range "500 °C" {"min":-100,"max":400}°C')
    checkProblems('radiator', '101 % 0.1 K/W', 'value-range "101 %" {"above":0,"max":100}%')
    check('radiator', '100 % 0.1 K/W', { duty: '100 percent', resistance: '0.1 thermal-resistance' })
    check('part', 'shared-power 0 W', { value: '0 power' })
  })
})

describe('uncertainties', () => {
  it('take the unit of their value', () => {
    check('part', 'switching 1.6 nF ± 0.05 nF', { value: '1.6 capacitance ± 0.05' })
    check('part', 'switching 1.6 nF ± 50 pF', { value: '1.6 capacitance ± 0.05' })
    check('part', 'switching 1600 pF ± 50', { value: '1.6 capacitance ± 0.05' })
    check('part', 'switching 1.6 nF +- 0.05', { value: '1.6 capacitance ± 0.05' })
  })

  it('are relative in percent', () => {
    check('part', 'switching 1.6 nF ± 3 %', { value: '1.6 capacitance ± 0.048' })
    check('part', 'needs-slope -0.2 mV/K ± 10 %', { value: '-0.0002 voltage-per-kelvin ± 0.00002' })
  })

  it('are in kelvin on a temperature', () => {
    check('cooler', 'coolant 8 °C ± 0.5 K', { value: '8 temperature ± 0.5' })
    check('cooler', 'coolant 8 °C ± 0.5', { value: '8 temperature ± 0.5' })
    checkProblems('cooler', 'coolant 8 °C ± 0.5 °C', 'unit-mismatch "0.5 °C" °C -> K')
  })

  it('stand on pure numbers without a unit', () => {
    check('part', 'leakage-exponent 3.2 ± 0.4', { value: '3.2 ± 0.4' })
    check('part', 'leakage-exponent 3.2 ± 5 %', { value: '3.2 ± 0.16' })
    checkProblems('part', 'leakage-exponent 3.2 ± 5 V', 'unit-mismatch "5 V" V -> none')
  })

  it('need a number of a fitting unit', () => {
    checkProblems('part', 'switching 1.6 nF ± ', 'expected "±" the uncertainty')
    checkProblems('part', 'switching 1.6 nF ± 3 V', 'unit-mismatch "3 V" V -> none')
  })

  it('may stand within a form', () => {
    check('part', 'leakage 16 W ± 1 W at 1.2 V 60 °C', {
      power: '16 power ± 1',
      voltage: '1.2 voltage',
      temperature: '60 temperature',
    })
  })
})

describe('ranges', () => {
  it('have two ends', () => {
    check('part', 'ratio 8x to 62x', { value: '8..62 ratio' })
    check('part', 'core-voltage 650 mV to 1.5 V', { value: '0.65..1.5 voltage' })
    check('room', 'air 18 °C', { value: '18..18 temperature' })
    checkProblems('part', 'ratio 8x', 'expected "8x" a range `A to B`')
    checkProblems('part', 'ratio 8x to', 'expected "to" a ratio in x')
  })

  it('take the unit at their end for both, and tell one that is missing there', () => {
    check('part', 'ratio 8 to 62x', { value: '8..62 ratio' })
    check('room', 'air -5 to 24 °C', { value: '-5..24 temperature' })
    check('part', 'core-voltage 700 to 1450 mV', { value: '0.7..1.45 voltage' })
    checkProblems('part', 'ratio 8x to 62', 'unit-missing "62" -> x')
    checkProblems('part', 'ratio 8 to 62 GHz', 'unit-missing "8" -> x', 'unit-mismatch "62 GHz" GHz -> none')
  })

  it('go upwards', () => {
    checkProblems('part', 'ratio 62x to 8x', 'range-reversed "62x to 8x" -> 8x to 62x')
    checkProblems('room', 'air 5 degC to -10 degC', 'range-reversed "5 degC to -10 degC" -> -10 °C to 5 °C')
    checkProblems('load', 'cores 8 to 1', 'range-reversed "8 to 1" -> 1 to 8')
    checkProblems('steps', '4 to 1 cores 5x', 'range-reversed "4 to 1" -> 1 to 4')
    check('load', 'cores 3 to 3', { value: '3..3' })
  })

  it('keep to their bounds at both ends', () => {
    checkProblems(
      'room',
      'humidity 0 % to 120 %',
      'value-range "0 %" {"min":1,"max":100}%',
      'value-range "120 %" {"min":1,"max":100}%',
    )
  })
})

describe('counts', () => {
  it('are whole numbers without a unit', () => {
    check('part', 'cores 12', { value: '12' })
    check('load', 'cores 2', { value: '2..2' })
    check('load', 'cores 1 to 8', { value: '1..8' })
    checkProblems('part', 'cores 2.5', 'not-whole "2.5"')
    checkProblems('part', 'cores 12 W', 'unit-mismatch "12 W" W -> ')
    checkProblems('part', 'cores 0', 'value-range "0" {"min":1,"max":1024}')
    checkProblems('load', 'cores 1 to 2.0', 'not-whole "2.0"')
    checkProblems('part', 'cores many', 'expected "many" a whole number')
  })

  it('are followed by cores in a table', () => {
    check('steps', '1 to 2 cores 57x', { cores: '1..2', ratio: '57 ratio' })
    check('steps', '1 cores 57x', { cores: '1..1', ratio: '57 ratio' })
    check('steps', '3 core 57x', { cores: '3..3', ratio: '57 ratio' })
    checkProblems('steps', '1 to 2 57x', 'expected "57x" `cores`')
    checkProblems('steps', '0 cores 57x', 'value-range "0" {"min":1,"max":1024}')
  })

  it('pure numbers may have decimals', () => {
    check('load', 'activity 0.85 ± 0.05', { value: '0.85 ± 0.05' })
    checkProblems('load', 'activity 0', 'value-range "0" {"above":0,"max":4}')
    checkProblems('load', 'activity 85 %', 'unit-mismatch "85 %" % -> ')
  })
})

describe('signed values', () => {
  it('keep a drop as its size', () => {
    check('profile', 'vector -2x', { value: '2 ratio' })
    check('bands', '1 to 2 cores above 38 °C −1.5x', { cores: '1..2', above: '38 temperature', drop: '1.5 ratio' })
    checkProblems('profile', 'vector 2x', 'expected "2x" `-` insert -')
    checkProblems('profile', 'vector +2x', 'expected "+" `-`')
  })

  it('keep the sign where both may stand', () => {
    check('voltage', 'core needs + 10 mV', { offset: '0.01 voltage' })
    check('voltage', 'core needs - 5 mV', { offset: '-0.005 voltage' })
    check('voltage', 'core needs', {})
    check('voltage', 'core fixed 1.3 V', { fixed: '1.3 voltage' })
    checkProblems('voltage', 'core needs 10 mV', 'expected "10 mV" `+` or `-` insert +')
    checkProblems('voltage', 'core needs +', 'expected "+" a voltage in V')
  })

  it('need a fitting unit, too', () => {
    check('profile', 'drive dew + 2 K', { margin: '2 temperature-difference' })
    checkProblems('profile', 'drive dew + 2 °C', 'unit-mismatch "2 °C" °C -> K')
    checkProblems('profile', 'drive dew - 2 K', 'expected "-" `+`')
  })
})

describe('words', () => {
  it('are known by their place', () => {
    check('cooler', 'insulated yes', { value: 'word yes' })
    checkProblems('cooler', 'insulated maybe', 'unknown-word "maybe" of yes no')
    checkProblems('profile', 'drive half', 'unknown-word "half" of dew hold fixed supply pulsed full off')
    checkProblems('cooler', 'insulated', 'expected "insulated" `yes`, `no`')
  })

  it('come with what could stand there', () => {
    checkProblems(
      'limits',
      'die-limit 90 °C',
      'unknown-word "die-limit" of allow note source die sustained-power burst-power current',
    )
    checkProblems('load', 'core 3', 'unknown-word "core" of allow note source cores activity uneven vector')
  })

  it('are followed by what their form says', () => {
    checkProblems('part', 'leakage 16 W on 1.2 V 60 °C', 'unknown-word "on" of at')
    check('limits', 'sustained-power 190 W over 30 s', { value: '190 power', over: '30 time' })
    check('limits', 'sustained-power 190 W', { value: '190 power' })
    checkProblems('limits', 'sustained-power 190 W for 30 s', 'unknown-word "for" of over')
    checkProblems('limits', 'sustained-power 190 W over', 'expected "over" a time in s')
  })

  it('name definitions', () => {
    check('profile', 'part trial-b2', { part: 'name trial-b2' })
    checkProblems('profile', 'part', 'expected "part" the name of a part')
    checkProblems('profile', 'part "trial"', 'expected "\\"trial\\"" the name of a part')
  })

  it('are not asked of a row', () => {
    checkProblems('steps', 'some cores 5x', 'unknown-word "some" of allow note source')
    checkProblems('part', '5x 1.2 V', 'expected "5x" a key word')
  })
})

describe('strings, codes and settings', () => {
  it('are read as text', () => {
    check('part', 'note "say ""yes"""', { text: 'string say "yes"' })
    check('also', '"memory" "fast"', { setting: 'string memory', value: 'string fast' })
    check('menu', 'core-voltage "Page" "Field"', {
      setting: 'word core-voltage',
      page: 'string Page',
      field: 'string Field',
    })
    check('profile', 'allow voltage-grid "it rounds"', { code: 'word voltage-grid', reason: 'string it rounds' })
    checkProblems('part', 'note fast', 'expected "fast" text in double quotes')
    checkProblems('profile', 'allow "x"', 'expected "\\"x\\"" the code of a check')
    checkProblems('menu', 'core-voltage "Page"', 'expected "\\"Page\\"" field in double quotes')
  })
})

describe('expectations', () => {
  it('are read in each form', () => {
    check('profile', 'expect bake holds >= 4.7 GHz for 12 min', {
      load: 'name bake',
      compare: 'compare >=',
      clock: '4.7 frequency',
      for: '720 time',
    })
    check('profile', 'expect idle plate above dew by 2 K', {
      load: 'name idle',
      'above-dew': '2 temperature-difference',
    })
    check('profile', 'expect bake die ≤ 85 °C', {
      load: 'name bake',
      figure: 'word die',
      compare: 'compare <=',
      temperature: '85 temperature',
    })
    check('profile', 'expect bake margin >= 20 W', {
      load: 'name bake',
      figure: 'word margin',
      compare: 'compare >=',
      power: '20 power',
    })
    check('profile', 'expect bake plate >= -5 °C', {
      load: 'name bake',
      figure: 'word plate',
      compare: 'compare >=',
      temperature: '-5 temperature',
    })
  })

  it('name what could follow', () => {
    checkProblems(
      'profile',
      'expect bake hold >= 4 GHz',
      'unknown-word "hold" of holds plate die coolant power margin drive-power voltage current stable',
    )
    checkProblems('profile', 'expect bake die < 85 °C', 'expected "<" `>=` or `<=`')
    checkProblems('profile', 'expect bake die <= 85 K', 'unit-mismatch "85 K" K -> °C')
    checkProblems('profile', 'expect bake plate above wet by 2 K', 'unknown-word "wet" of dew')
  })
})

describe('blocks', () => {
  it('stand where their word takes one', () => {
    expect(readMarked('profile a {\n  vector -1x { } <<\n}\n').problems).toEqual(['block-unexpected "{ }"'])
    expect(readMarked('profile a {\n  steps <<\n  vector -1x\n}\n').problems).toEqual(['block-missing "steps"'])
    expect(readMarked('part a <<\n').problems).toEqual(['block-missing "part a"'])
  })

  it('have a head of their form', () => {
    expect(readMarked('profile a {\n  bands return 3 K { <<\n  }\n}\n').match.sound).toBe(true)
    expect(readMarked('profile a {\n  bands { <<\n  }\n}\n').match.sound).toBe(true)
    expect(readMarked('profile a {\n  bands return 3 °C { <<\n  }\n}\n').problems).toEqual([
      'unit-mismatch "3 °C" °C -> K',
    ])
    expect(readMarked('cooler a kind wet { <<\n}\n').problems).toEqual([
      'unknown-word "wet" of air loop chilled thermoelectric',
    ])
    expect(readMarked('cooler a { <<\n}\n').problems).toEqual(['expected "a" `kind`'])
    expect(readMarked('profile a base-on b { <<\n}\n').problems).toEqual(['unknown-word "base-on" of based-on'])
    expect(readMarked('profile a based-on b { <<\n}\n').match.sound).toBe(true)
  })
})

describe('a line that has a finding already', () => {
  it('gets no second one', () => {
    for (const line of ['reference 100 MHz @', 'reference 1.2.3 MHz', 'Reference 100 MHz', 'reference x_1 MHz']) {
      const { match, problems } = readMarked(around.part(line))
      expect(problems).toEqual([])
      expect(match.sound).toBe(false)
    }
  })

  it('is read as it was meant where that is evident', () => {
    check('part', 'reference 0,1 GHz', { value: '0.1 frequency' })
    check('part', 'reference .1 GHz', { value: '0.1 frequency' })
  })
})

describe('runs', () => {
  it('have a date, with a time of day or without', () => {
    check('run', 'date 2026-01-12', { value: 'date 2026-01-12' })
    check('run', 'date 2026-01-12 9:40', { value: 'date 2026-01-12 09:40' })
    checkProblems('run', 'date 2026-02-30', 'expected "2026-02-30" a date that exists, like `2026-01-12`')
    checkProblems('run', 'date 2026-01-12 25:00', 'expected "25:00" a time of day, like `21:40`')
    checkProblems('run', 'date', 'expected "date" a date that exists, like `2026-01-12`')
  })

  it('name columns with the unit alone', () => {
    check('log', 'column clock "core clock" MHz', { kind: 'word clock', header: 'string core clock', unit: 'unit MHz' })
    check('log', 'column die "hot spot" degC', { kind: 'word die', header: 'string hot spot', unit: 'unit °C' })
    check('log', 'column time "t" s', { kind: 'word time', header: 'string t', unit: 'unit s' })
    checkProblems('log', 'column die "hot spot" K', 'unit-mismatch "K" K -> °C')
    checkProblems('log', 'column power "package" V', 'unit-mismatch "V" V -> W')
    checkProblems('log', 'column power "package"', 'expected "\\"package\\"" the unit of a power, like `W`')
    checkProblems('log', 'column clock "core clock" mhz', 'unknown-word "mhz" of MHz')
    checkProblems(
      'log',
      'column pump "fan" %',
      'unknown-word "pump" of time clock voltage drive-voltage power die plate coolant current drive fan',
    )
  })

  it('have figures read off by hand, with or without an uncertainty', () => {
    check('measured', 'die 64 °C ± 1 K', { value: '64 temperature ± 1' })
    check('measured', 'clock 4710 MHz', { value: '4.71 frequency' })
    check('run', 'stopped after 12 min "hang"', { after: '720 time', what: 'string hang' })
    check('run', 'score 41.25 "s" lower', { value: '41.25', unit: 'string s', better: 'word lower' })
  })
})

describe('correlations', () => {
  it('are pure numbers from -1 to 1', () => {
    check('part', 'correlated switching leakage -0.93', {
      first: 'word switching',
      second: 'word leakage',
      value: '-0.93',
    })
    check('part', 'correlated switching leakage 0.5', { first: 'word switching', second: 'word leakage', value: '0.5' })
    checkProblems('part', 'correlated switching leakage -1.2', 'value-range "1.2" {"min":-1,"max":1}')
    checkProblems('part', 'correlated switching leakage + 0.5', 'expected "+" a number, or `of`')
  })
})
