/** Words of `part` and of the tables in it. */

import { secondOfCooler } from './fitted-of-cooler.ts'
import {
  anyOrder,
  benchTemperature,
  cell,
  choice,
  coefficient,
  constant,
  coreCount,
  heldShare,
  heldTime,
  literal,
  notNegative,
  ofGroup,
  positive,
  ratioBounds,
  ratioStepBounds,
  reference,
  setting,
} from './slots.ts'
import type { Form, Slot, Word } from './types.ts'
import { usualOfPart } from './usual-values.ts'

/** Constants of the part that may carry `±`, and so may be correlated. */
const uncertainConstants = [
  'switching',
  'leakage',
  'leakage-doubling',
  'leakage-exponent',
  'shared-power',
  'idle-power',
  'package-resistance',
  'core-resistance',
  'needs-slope',
  'vector-needs',
  'die-heat',
]

/** Those of them that a group of cores may have of its own. */
const ofOneGroup = ['switching', 'leakage', 'core-resistance', 'needs-slope', 'vector-needs']

export const ofCooler = [literal('of'), reference('cooler')]
/** The group whose own constant is meant. @param name of the slot */
export const ofTheGroup = (name: string): Slot[] => [literal('of'), { slot: 'part-name', name, of: 'group' }]

/** A constant of the part, or of one of its groups: each way in which it may be named. */
function partConstant(which: 'first' | 'second'): readonly Slot[][] {
  return [[choice(which, ...uncertainConstants)], [choice(which, ...ofOneGroup), ...ofTheGroup(`${which}-group`)]]
}

/** What may be correlated: two constants of the part or its groups, or one of them and one of a cooler. */
export function correlatedForms(): readonly Form[] {
  const ofCoolers = secondOfCooler.map(second => [...second, ...ofCooler])
  return partConstant('first').flatMap(first =>
    [...partConstant('second'), ...ofCoolers].map(second => [...first, ...second, coefficient]),
  )
}

const judgement = 'engineering judgement, no source'

const room: Slot = constant('air', 'temperature', { min: -40, max: 60 })

/** What may stand in a row of `known`, in the order in which completion offers it. */
const known = anyOrder(
  [cell(constant('clock', 'frequency', positive), 10)],
  [cell(constant('voltage', 'voltage', positive), 9)],
  [cell(constant('power', 'power', positive), 7)],
  [cell(constant('die', 'temperature', benchTemperature), 8)],
  [literal('cores'), ofGroup, cell({ slot: 'number', name: 'cores', whole: true, bounds: coreCount }, 9)],
  [literal('activity'), cell({ slot: 'number', name: 'activity', uncertain: true, bounds: { above: 0, max: 4 } }, 14)],
  [cell(choice('vector', 'vector'), 8)],
  [literal('coolant'), cell(constant('coolant', 'temperature', benchTemperature), 15)],
  [literal('plate'), cell(constant('plate', 'temperature', benchTemperature), 13)],
  [literal('air'), cell(room, 11)],
  [literal('fan'), cell(constant('fan', 'percent', { min: 0, max: 100 }), 10)],
)

export const partWords = [
  {
    word: 'cores',
    in: ['part', 'group'],
    forms: [[{ slot: 'number', name: 'value', whole: true, bounds: coreCount }]],
    required: true,
    means: 'How many cores the part has, or the group.',
    example: 'cores 12',
  },
  {
    word: 'group',
    in: ['part'],
    forms: [[{ slot: 'part-name', name: 'name', of: 'group' }]],
    block: 'group',
    many: true,
    default: { text: 'all cores are alike' },
    means:
      'Cores of one kind, with what is their own. What it leaves out it takes from the part; `leakage` of the part is that of all groups without one of their own, shared out by cores. A name behind a word of a profile, a load or an expectation (`steps broad { … }`) says that it is for that group alone.',
    source: 'model section 1',
    example: 'group broad { cores 6; switching 2.1 nF }',
  },
  {
    word: 'rail',
    in: ['group'],
    forms: [[{ slot: 'part-name', name: 'value', of: 'rail' }]],
    default: { text: 'main' },
    means:
      'The supply rail of the group. Groups on one rail have one voltage, that of the group that asks for most; load line, voltage step and current limit hold for each rail by itself.',
    source: 'model section 2',
    example: 'rail side',
  },
  {
    word: 'reference',
    in: ['part'],
    forms: [[setting('value', 'frequency', positive)]],
    required: true,
    means: 'The reference clock; a core runs at ratio times this.',
    example: 'reference 100 MHz',
  },
  {
    word: 'ratio',
    in: ['part', 'group'],
    forms: [[{ slot: 'range', name: 'value', dimension: 'ratio', bounds: ratioBounds }]],
    required: true,
    means: 'The lowest and the highest ratio the part accepts.',
    example: 'ratio 8x to 62x',
  },
  {
    word: 'ratio-step',
    in: ['part'],
    forms: [[setting('value', 'ratio', ratioStepBounds)]],
    default: { text: '1x', value: 1 },
    means: 'The finest step of the ratio; ratios are whole multiples of it.',
    example: 'ratio-step 0.5x',
  },
  {
    word: 'core-voltage',
    in: ['part', 'group'],
    forms: [[{ slot: 'range', name: 'value', dimension: 'voltage', bounds: positive }]],
    required: true,
    means: 'The lowest and the highest core voltage you allow for this part.',
    judges: true,
    example: 'core-voltage 0.65 V to 1.50 V',
    caution:
      "Too much voltage ages or kills a part. Stay within the maker's published limit; this range does not replace it.",
  },
  {
    word: 'die-limit',
    in: ['part'],
    forms: [[setting('value', 'temperature', benchTemperature)]],
    required: true,
    means: 'The die temperature at which the part gives ratio back by itself.',
    example: 'die-limit 100 °C',
    caution: "Take it from the maker's data.",
  },
  {
    word: 'trip',
    in: ['part'],
    forms: [[setting('value', 'temperature', benchTemperature)]],
    default: { text: 'the die ceiling + 10 K' },
    means: 'The die temperature at which the machine stops.',
    source: 'model section 10',
    example: 'trip 112 °C',
  },
  {
    word: 'known',
    in: ['part'],
    forms: [[]],
    block: 'known',
    means:
      'What you have seen this sample do, one row a point: what you remember or find in a notebook. A fit draws the constants from it, and its voltages stand for `needs` where that is left out.',
    source: 'model sections 3 and 4',
    example: 'known { 4.70 GHz 1.236 V 192 W 76 °C vector }',
  },
  {
    word: '',
    in: ['known'],
    forms: [[known]],
    means:
      'A point: clock, die voltage, power of the whole part and die temperature, in any order, each but one may be missing. Behind them what is known of the load (`cores`: all unless said, `cores NAME` of one group alone; `activity`: 1; `vector`) and of the cooling (`coolant`, `plate`, `air`, `fan`). With cores of several groups at work clock and voltage are those of the first.',
    source: 'model sections 3 and 4',
    example: '4.70 GHz  1.236 V  192 W  76 °C   vector',
  },
  {
    word: 'needs',
    in: ['part', 'group'],
    forms: [[]],
    block: 'needs',
    default: { text: 'the voltages of `known`' },
    means: 'The lowest stable die voltage at each ratio, measured on this sample; straight lines between the rows.',
    source: 'model section 2; your own measurements',
    example: 'needs { 40x 1.010 V; 53x 1.290 V }',
  },
  {
    word: '',
    in: ['needs'],
    forms: [[cell(setting('ratio', 'ratio', ratioBounds), 6), constant('voltage', 'voltage', positive)]],
    means: 'A ratio and the lowest die voltage at which it was stable.',
    example: '44x   1.085 V',
  },
  {
    word: 'needs-at',
    in: ['part', 'group'],
    forms: [[setting('value', 'temperature', benchTemperature)]],
    default: { text: '60 °C', value: 60 },
    means: 'The die temperature at which the needed voltages were measured.',
    source: 'model section 2',
    example: 'needs-at 60 °C',
  },
  {
    word: 'needs-slope',
    in: ['part', 'group'],
    forms: [[constant('value', 'voltage-per-kelvin')]],
    default: { text: '0 mV/K', value: 0 },
    means: 'How much more voltage is needed per kelvin above that temperature.',
    source: 'model section 2',
    example: 'needs-slope 0.4 mV/K',
  },
  {
    word: 'vector-needs',
    in: ['part', 'group'],
    forms: [[constant('value', 'voltage')]],
    default: { text: '0 mV', value: 0 },
    means: 'How much more voltage is needed under vector loads.',
    source: 'model section 2',
    example: 'vector-needs 30 mV',
  },
  {
    word: 'proof',
    in: ['part'],
    forms: [[setting('probability', 'percent', heldShare), literal('for'), setting('for', 'time', heldTime)]],
    default: { text: '95 % for 1 h' },
    judges: true,
    means:
      'When a voltage counts as enough: with which probability it has to hold for how long. Trials are weighed by it; the rows of `needs` are taken to be stated for it.',
    source: 'exponential survival with a rate that is log-linear in the voltage',
    example: 'proof 99 % for 8 h',
  },
  {
    word: 'switching',
    in: ['part', 'group'],
    forms: [[constant('value', 'capacitance', positive)]],
    default: usualOfPart('switching'),
    means: 'Effective switched capacitance of one core at activity 1: P = cores · activity · C · V² · f.',
    source: `model section 3, CMOS switching power; 1.3 to 2.5 nF a core is usual (${judgement})`,
    example: 'switching 2.1 nF',
  },
  {
    word: 'leakage',
    in: ['part', 'group'],
    forms: [
      [
        constant('power', 'power', notNegative),
        literal('at'),
        setting('voltage', 'voltage', positive),
        setting('temperature', 'temperature', benchTemperature),
      ],
    ],
    default: usualOfPart('leakage'),
    means: 'Leakage power of the part, or of the group, at a stated voltage and temperature.',
    source: 'model section 3; a parameter to fit, not a constant of nature',
    example: 'leakage 16 W at 1.20 V 60 °C',
  },
  {
    word: 'leakage-doubling',
    in: ['part'],
    forms: [[constant('value', 'temperature-difference', positive)]],
    default: usualOfPart('leakage-doubling'),
    means: 'The rise in die temperature that doubles the leakage.',
    source: `model section 3; a parameter to fit, not a constant of nature; 20 to 40 K is usual (${judgement})`,
    example: 'leakage-doubling 28 K',
  },
  {
    word: 'leakage-exponent',
    in: ['part'],
    forms: [[{ slot: 'number', name: 'value', uncertain: true, bounds: { min: 1, max: 12 } }]],
    default: usualOfPart('leakage-exponent'),
    means: 'The exponent with which leakage grows with voltage.',
    source: `model section 3; a parameter to fit, not a constant of nature; 3 to 5 is usual (${judgement})`,
    example: 'leakage-exponent 3',
  },
  {
    word: 'shared-power',
    in: ['part'],
    forms: [[constant('value', 'power', notNegative)]],
    default: usualOfPart('shared-power'),
    means: 'Power under load of all that is not a core: caches, fabric, input and output.',
    source: 'model section 3',
    example: 'shared-power 14 W',
  },
  {
    word: 'idle-power',
    in: ['part'],
    forms: [[constant('value', 'power', notNegative)]],
    default: usualOfPart('idle-power'),
    means: 'Power of the whole part at idle.',
    source: 'model section 3',
    example: 'idle-power 9 W',
  },
  {
    word: 'package-resistance',
    in: ['part'],
    forms: [[constant('value', 'thermal-resistance', positive)]],
    default: usualOfPart('package-resistance'),
    means: 'Thermal resistance from the die to the cold plate, all power through it.',
    source: `model section 4; 0.08 to 0.14 K/W with a lid, about 0.05 K/W bare is usual (${judgement})`,
    example: 'package-resistance 0.11 K/W',
  },
  {
    word: 'core-resistance',
    in: ['part', 'group'],
    forms: [[constant('value', 'thermal-resistance', notNegative)]],
    default: usualOfPart('core-resistance'),
    means: "One core's own thermal resistance to the die, its share of the switching power through it.",
    source: 'model section 4',
    example: 'core-resistance 0.55 K/W',
  },
  {
    word: 'die-heat',
    in: ['part'],
    forms: [[constant('value', 'heat-capacity', positive)]],
    default: usualOfPart('die-heat'),
    means: 'Heat capacity of the die with its lid.',
    source: 'model section 10',
    example: 'die-heat 12 J/K',
  },
  {
    word: 'correlated',
    in: ['part'],
    forms: correlatedForms(),
    many: true,
    default: { text: 'constants are taken as independent' },
    means:
      'The correlation coefficient of the errors of two constants with `±`, as a fit gives it. A fit knows sums better than their parts, and intervals are narrower with it. A name behind `of` is that of the group whose own constant is meant. The second may be a constant of a cooler; the line then counts for profiles with that cooler.',
    source: 'model section 11; JCGM 100:2008, 5.2',
    example: 'correlated switching leakage -0.93',
  },
] as const satisfies readonly Word[]

export type PartWord = (typeof partWords)[number]['word']
