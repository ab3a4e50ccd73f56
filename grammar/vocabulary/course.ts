/** Words of `course`: the one block whose order counts. */

import { benchTemperature, choice, followedTime, literal, optional, reference, setting } from './slots.ts'
import type { Slot, Word } from './types.ts'

const compare: Slot = { slot: 'compare', name: 'compare' }
const judgement = 'engineering judgement, no source'

export const courseWords: readonly Word[] = [
  {
    word: 'start',
    in: ['course'],
    forms: [[literal('settled'), reference('load')], [choice('start', 'room', 'idle')]],
    default: { text: 'idle' },
    means:
      'What the bench is like at first: all at the temperature of the air (`room`), steady idle, or what a load has settled at.',
    source: 'model section 10',
    example: 'start room',
  },
  {
    word: '',
    in: ['course'],
    forms: [
      [reference('load'), setting('time', 'time', followedTime)],
      [
        reference('load'),
        literal('until'),
        choice('figure', 'die', 'plate', 'coolant'),
        compare,
        setting('temperature', 'temperature', benchTemperature),
        optional(literal('within'), setting('within', 'time', followedTime)),
      ],
    ],
    many: true,
    means:
      'A step: a load for a time, or until a temperature is reached to 0.1 K, which is waited for 30 min unless `within` says otherwise. A load with a range of cores runs on the most of them.',
    source: 'model section 10',
    example: 'render 8 min',
  },
  {
    word: 'fault',
    in: ['course'],
    forms: [
      [choice('fault', 'pump', 'fan'), setting('left', 'percent', { min: 0, max: 100 })],
      [choice('fault', 'chiller'), setting('left', 'percent', { min: 0, max: 1000 })],
      [choice('fault', 'radiator'), setting('left', 'percent', { above: 0, max: 100_000 })],
      [literal('drive'), choice('drive', 'off', 'on')],
    ],
    many: true,
    means:
      'From here on something fails: `pump` is the flow that is left, `fan` the duty whatever its table says, `chiller` the capacity that is left, `radiator` its resistance; `drive off` takes the current from the plate. 100 %, or `drive on`, ends it. How a cooler does without flow or fan is engineering judgement.',
    source: judgement,
    example: 'fault pump 0 %',
    caution: 'A prediction of a failure is no protection against one: set the trip and test it.',
  },
]
