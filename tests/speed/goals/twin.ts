/** The same benches as `../texts.ts` as JSON, with a schema that says of them what the table of words says. */

import type { OwnFigures } from '../texts.ts'

const number = (minimum: number, maximum: number, description: string) => ({
  type: 'number',
  minimum,
  maximum,
  description,
})
const name = { type: 'string', pattern: '^[a-z][a-z0-9-]*$', description: 'A name of a definition.' }
const cores = { type: 'string', pattern: '^[0-9]{1,4}( to [0-9]{1,4})?$', description: 'A count of cores, or a range.' }
const step = { type: 'string', pattern: '^-?[0-9]{1,3}x$', description: 'A ratio, or a change of one.' }
const list = (items: object, description: string) => ({
  type: 'array',
  items,
  minItems: 1,
  maxItems: 1024,
  description,
})
const object = (properties: Readonly<Record<string, object>>, required: readonly string[]) => ({
  type: 'object',
  additionalProperties: false,
  required,
  properties,
})
const ofNames = (one: object) => ({ type: 'object', propertyNames: name, additionalProperties: one })
const range = object({ from: number(-60, 200, 'The lower end.'), to: number(-60, 200, 'The upper end.') }, ['from'])

const part = object(
  {
    cores: number(1, 1024, 'How many cores the part has.'),
    reference_mhz: number(20, 400, 'What a ratio of one is.'),
    ratio: object({ from: number(1, 200, 'The least ratio.'), to: number(1, 200, 'The highest ratio.') }, [
      'from',
      'to',
    ]),
    core_voltage_v: range,
    die_limit_c: number(40, 130, 'Where the part protects itself.'),
    needs: list(
      object({ ratio: step, voltage_v: number(0.3, 2, 'What the ratio needs.') }, ['ratio', 'voltage_v']),
      'Voltages that ratios need.',
    ),
    switching_nf: object({ value: number(0, 100, 'Switching.'), spread: number(0, 10, 'Its spread.') }, ['value']),
    leakage: object(
      { power_w: number(0, 500, 'Leakage.'), at_v: number(0.3, 2, 'Its voltage.'), at_c: number(-60, 150, 'Its die.') },
      ['power_w', 'at_v', 'at_c'],
    ),
    leakage_doubling_k: number(1, 200, 'Kelvin in which leakage doubles.'),
    shared_power_w: number(0, 500, 'What is shared.'),
    idle_power_w: number(0, 500, 'What is drawn at rest.'),
    package_resistance_k_per_w: number(0, 10, 'From die to plate.'),
    core_resistance_k_per_w: number(0, 10, 'From a core to the die.'),
  },
  ['cores', 'reference_mhz', 'ratio', 'needs'],
)

const duties = list(
  object({ duty_percent: number(0, 100, 'Duty.'), k_per_w: number(0, 10, 'Resistance.') }, ['duty_percent', 'k_per_w']),
  'Resistance by duty.',
)

const cooler = {
  oneOf: [
    object(
      { kind: { const: 'loop' }, block_resistance_k_per_w: number(0, 10, 'From plate to coolant.'), radiator: duties },
      ['kind', 'radiator'],
    ),
    object(
      {
        kind: { const: 'thermoelectric' },
        modules: number(1, 64, 'How many modules.'),
        module: object(
          {
            at_c: number(-60, 150, 'The hot side.'),
            current_a: number(0, 100, 'Most current.'),
            voltage_v: number(0, 100, 'Most voltage.'),
            heat_w: number(0, 2000, 'Most heat.'),
            difference_k: number(0, 200, 'Most difference.'),
          },
          ['at_c', 'current_a', 'voltage_v', 'heat_w', 'difference_k'],
        ),
        drive_current_a: number(0, 100, 'Through each module.'),
        block_resistance_k_per_w: number(0, 10, 'From plate to coolant.'),
        radiator: duties,
      },
      ['kind', 'modules', 'module', 'radiator'],
    ),
  ],
}

const profile = object(
  {
    part: name,
    cooler: name,
    room: name,
    steps: list(object({ cores, ratio: step }, ['cores', 'ratio']), 'Ratios by active cores.'),
    bands: list(
      object({ cores, above_c: number(-60, 150, 'Where it begins.'), by: step }, ['cores', 'above_c', 'by']),
      'What is given back above a temperature.',
    ),
    vector: step,
    voltage: object({ core: { type: 'string', pattern: '^needs [+-] [0-9]+ mV$' } }, ['core']),
    limits: object(
      {
        die_c: number(40, 130, 'Of the die.'),
        sustained_power_w: number(1, 2000, 'Over time.'),
        over_s: number(1, 3600, 'The time.'),
      },
      [],
    ),
    drive: { type: 'string', pattern: '^dew \\+ [0-9]+ K$' },
    fan: list(
      object({ coolant_c: number(-60, 150, 'The coolant.'), duty_percent: number(0, 100, 'Duty.') }, [
        'coolant_c',
        'duty_percent',
      ]),
      'Duty by coolant.',
    ),
    expect: list(
      { type: 'string', pattern: '^[a-z-]+ (die|holds|margin) (<=|>=) [0-9.]+ [°A-Za-z]+$' },
      'Expectations.',
    ),
  },
  ['part', 'cooler', 'room', 'steps'],
)

const load = object(
  {
    cores,
    activity: number(0, 1.5, 'How hard.'),
    vector: { type: 'boolean', description: 'Whether it uses wide instructions.' },
  },
  ['cores', 'activity'],
)
const room = object({ air_c: range, humidity_percent: range }, ['air_c'])

/** Of every file of benches: names, keys, what is missing, ranges and forms. */
export const schema = object(
  {
    detent: { const: 1 },
    use: list({ type: 'string', pattern: '^[^/]+\\.json$' }, 'Files that are used.'),
    parts: ofNames(part),
    coolers: ofNames(cooler),
    rooms: ofNames(room),
    loads: ofNames(load),
    profiles: ofNames(profile),
  },
  ['detent'],
)

const radiator = (low: number, high: number) => [
  { duty_percent: 20, k_per_w: low },
  { duty_percent: 100, k_per_w: high },
]

const bench = {
  parts: {
    'willow-12': {
      cores: 12,
      reference_mhz: 100,
      ratio: { from: 8, to: 60 },
      core_voltage_v: { from: 0.7, to: 1.45 },
      die_limit_c: 100,
      needs: [
        { ratio: '36x', voltage_v: 0.94 },
        { ratio: '44x', voltage_v: 1.055 },
        { ratio: '50x', voltage_v: 1.19 },
        { ratio: '57x', voltage_v: 1.42 },
      ],
      switching_nf: { value: 2.1, spread: 0.05 },
      leakage: { power_w: 16, at_v: 1.15, at_c: 60 },
      leakage_doubling_k: 30,
      shared_power_w: 12,
      idle_power_w: 12,
      package_resistance_k_per_w: 0.1,
      core_resistance_k_per_w: 0.5,
    },
  },
  coolers: {
    'still-plate': {
      kind: 'thermoelectric',
      modules: 4,
      module: { at_c: 35, current_a: 13.3, voltage_v: 16.9, heat_w: 138, difference_k: 70 },
      drive_current_a: 7,
      block_resistance_k_per_w: 0.025,
      radiator: radiator(0.07, 0.03),
    },
    'still-pond': { kind: 'loop', block_resistance_k_per_w: 0.04, radiator: radiator(0.08, 0.038) },
  },
  rooms: { loft: { air_c: { from: 18, to: 24 }, humidity_percent: { from: 40, to: 55 } } },
  loads: {
    weave: { cores: '12', activity: 1, vector: true },
    pair: { cores: '2', activity: 0.9 },
  },
}

function profileOf(index: number, { sustainedW = 210, fanPct = 55 }: OwnFigures): object {
  const onPlate = index % 2 === 0
  return {
    part: 'willow-12',
    cooler: onPlate ? 'still-plate' : 'still-pond',
    room: 'loft',
    steps: [
      { cores: '1 to 4', ratio: `${52 + (index % 4)}x` },
      { cores: '5 to 12', ratio: '46x' },
    ],
    bands: [
      { cores: '1 to 4', above_c: 62, by: '-1x' },
      { cores: '5 to 12', above_c: 74, by: '-2x' },
    ],
    vector: '-1x',
    voltage: { core: 'needs + 20 mV' },
    limits: { die_c: 92, sustained_power_w: sustainedW, over_s: 75 },
    ...(onPlate ? { drive: 'dew + 2 K' } : {}),
    fan: [
      { coolant_c: 24, duty_percent: 25 },
      { coolant_c: 34, duty_percent: fanPct },
      { coolant_c: 48, duty_percent: 100 },
    ],
    expect: ['weave die <= 88 °C', 'pair holds >= 5.0 GHz'],
  }
}

/** As a person writes it: rows of tables and small objects on a line of their own, as in the other language. */
function written(value: unknown, indent: number): string {
  const flat = JSON.stringify(value, undefined, 1).replaceAll(/\n\s*/g, ' ')
  const isSmall =
    typeof value !== 'object' || value === null || (indent > 4 && flat.length < 100 && !flat.includes('[ {'))
  if (isSmall) return flat
  const pad = ' '.repeat(indent + 2)
  if (Array.isArray(value)) {
    return `[\n${value.map(one => `${pad}${written(one, indent + 2)}`).join(',\n')}\n${' '.repeat(indent)}]`
  }
  const entries = Object.entries(value).map(([key, one]) => `${pad}"${key}": ${written(one, indent + 2)}`)
  return `{\n${entries.join(',\n')}\n${' '.repeat(indent)}}`
}

/** A file of profiles alone, which uses another, or of the bench with profiles behind it. */
export function twinText(
  profiles: readonly number[],
  use?: string,
  own: (index: number) => OwnFigures = () => ({}),
): string {
  const named = Object.fromEntries(profiles.map(index => [`bench-run-${index}`, profileOf(index, own(index))]))
  const head = use === undefined ? { detent: 1, ...bench } : { detent: 1, use: [use] }
  return `${written({ ...head, ...(profiles.length === 0 ? {} : { profiles: named }) }, 0)}\n`
}
