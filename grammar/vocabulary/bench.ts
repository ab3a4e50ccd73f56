/** Words of `room`, `board` and `load`. */

import { busyCount, coreCount, notNegative, ofGroup, ofRail, positive, setting, string, yesNo } from './slots.ts'
import type { Word } from './types.ts'

export const roomWords: readonly Word[] = [
  {
    word: 'air',
    in: ['room'],
    forms: [[{ slot: 'range', name: 'value', dimension: 'temperature', single: true, bounds: { min: -40, max: 60 } }]],
    required: true,
    means: 'Air temperature at the radiator intake; a range is judged at both ends.',
    source: 'model section 11',
    example: 'air 18 °C to 24 °C',
  },
  {
    word: 'humidity',
    in: ['room'],
    forms: [[{ slot: 'range', name: 'value', dimension: 'percent', single: true, bounds: { min: 1, max: 100 } }]],
    required: true,
    means: 'Relative humidity of that air; a range is judged at both ends.',
    source: 'model sections 9 and 11',
    example: 'humidity 40 % to 55 %',
  },
]

export const boardWords: readonly Word[] = [
  {
    word: 'core-voltage-step',
    in: ['board'],
    forms: [[ofRail, setting('value', 'voltage', positive)]],
    default: { text: 'no grid' },
    means: 'The grid of core voltages that the board accepts.',
    source: 'model section 2',
    example: 'core-voltage-step 5 mV',
  },
  {
    word: 'load-line',
    in: ['board'],
    forms: [
      [ofRail, { slot: 'quantity', name: 'value', dimension: 'resistance', uncertain: true, bounds: notNegative }],
    ],
    default: { text: '0 mΩ', value: 0 },
    means: 'By how much the die voltage falls below the set voltage per ampere.',
    source: 'model section 2',
    example: 'load-line 0.4 mΩ',
  },
  {
    word: 'supply',
    in: ['board'],
    forms: [[setting('value', 'power', positive)]],
    default: { text: 'not judged' },
    means: 'What the power supply is rated for.',
    source: 'model section 9',
    judges: true,
    example: 'supply 850 W',
  },
  {
    word: 'other-power',
    in: ['board'],
    forms: [[setting('value', 'power', notNegative)]],
    default: { text: '50 W', value: 50 },
    means: 'The power of everything else on the supply.',
    source: 'model section 9',
    judges: true,
    example: 'other-power 60 W',
  },
  {
    word: 'menu',
    in: ['board'],
    forms: [[]],
    block: 'menu',
    means: 'Your own firmware in your own words: the page and the field of each setting.',
    carried: true,
    example: 'menu { core-voltage "Page two" "Field name" }',
  },
  {
    word: '',
    in: ['menu'],
    forms: [
      [
        { slot: 'setting', name: 'setting' },
        { slot: 'part-name', name: 'group', of: 'either', after: true },
        string('page'),
        string('field'),
      ],
      [string('setting'), string('page'), string('field')],
    ],
    means:
      'A setting of the language, or in double quotes one of the `also` settings, and the page and field where your firmware has it.',
    carried: true,
    example: 'core-voltage "Page two" "Field name"',
  },
]

export const loadWords: readonly Word[] = [
  {
    word: 'cores',
    in: ['load'],
    forms: [[ofGroup, { slot: 'count-range', name: 'value', bounds: coreCount, named: busyCount }]],
    required: true,
    means:
      'How many cores the load keeps busy; a range stands for every count in it. Of a part with groups one number fills them in their order; `cores broad 4` and the like, one line for each busy group, say which.',
    example: 'cores 1 to 8',
  },
  {
    word: 'activity',
    in: ['load'],
    forms: [[ofGroup, { slot: 'number', name: 'value', bounds: { above: 0, max: 4 }, uncertain: true }]],
    default: { text: '1', value: 1 },
    means: 'How hard a busy core switches, against the load at which the switched capacitance was measured.',
    source: 'model section 3',
    example: 'activity 0.9',
  },
  {
    word: 'uneven',
    in: ['load'],
    forms: [[{ slot: 'number', name: 'value', bounds: { min: 1, max: 64 }, uncertain: true }]],
    default: { text: '1', value: 1 },
    means: 'Dynamic power of its hottest core, as a multiple of the mean of its cores: 1.4 is 1.4 times the mean.',
    source: 'model section 4',
    example: 'uneven 1.4',
  },
  {
    word: 'vector',
    in: ['load'],
    forms: [[yesNo]],
    default: { text: 'no' },
    means: 'Whether it uses wide vector units, for which the profile gives ratio back.',
    source: 'model section 1',
    example: 'vector yes',
  },
]
