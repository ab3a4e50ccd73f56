/** Words of `run`, its log and its measured figures. */

import {
  benchTemperature,
  choice,
  constant,
  literal,
  notNegative,
  ofGroup,
  positive,
  setting,
  string,
  unitOf,
} from './slots.ts'
import type { Form, Word } from './types.ts'

const column = (dimension: Parameters<typeof unitOf>[0], ...kinds: string[]): Form => [
  choice('kind', ...kinds),
  string('header'),
  unitOf(dimension),
]

/** Of one group of cores by its name, else of the first that has active cores. */
const columnOfGroup = (dimension: Parameters<typeof unitOf>[0], kind: string): Form => [
  choice('kind', kind),
  ofGroup,
  string('header'),
  unitOf(dimension),
]

const measured = (word: string, slot: Form[number], means: string, example: string, ...name: Form): Word => ({
  word,
  in: ['measured'],
  forms: [[...name, slot]],
  means,
  example,
})

export const runWords: readonly Word[] = [
  {
    word: 'date',
    in: ['run'],
    forms: [[{ slot: 'date', name: 'value' }]],
    carried: true,
    means: 'When it was run; the time of day may follow.',
    example: 'date 2026-01-12 21:40',
  },
  {
    word: 'revision',
    in: ['run'],
    forms: [[string('revision')]],
    means:
      'The revision of this file in git when the values were in the firmware. The run is compared with what its profile set then, with the constants of part, cooler, board, room and load as they are known now.',
    example: 'revision "3fa81c0"',
  },
  {
    word: 'air',
    in: ['run'],
    forms: [[constant('value', 'temperature', { min: -40, max: 60 })]],
    default: { text: "the middle of the profile's room" },
    means: 'Air temperature at the radiator intake. The run is compared with a prediction at this temperature.',
    source: 'model section 5',
    example: 'air 21.5 °C',
  },
  {
    word: 'humidity',
    in: ['run'],
    forms: [[constant('value', 'percent', { min: 1, max: 100 })]],
    default: { text: "the middle of the profile's room" },
    means: 'Relative humidity of that air.',
    source: 'model section 9',
    example: 'humidity 47 %',
  },
  {
    word: 'log',
    in: ['run'],
    forms: [[string('path')]],
    block: 'log',
    means: 'The log file, relative to this one, and what its columns are. Only the steady stretches count.',
    example: 'log "logs/evening.csv" { column power "package" W }',
  },
  {
    word: 'column',
    in: ['log'],
    forms: [
      column('time', 'time'),
      columnOfGroup('frequency', 'clock'),
      columnOfGroup('voltage', 'voltage'),
      column('voltage', 'drive-voltage'),
      column('power', 'power'),
      column('temperature', 'die', 'plate', 'coolant'),
      column('current', 'current', 'drive'),
      column('percent', 'fan'),
    ],
    required: true,
    many: true,
    means:
      "A column: what it is, its header as the log has it, and the unit its numbers are in. `voltage` is that at the die, `power` and `current` are those of the whole part, `die` is the hottest core; `drive` is the current through each module of the plate, `drive-voltage` that at its supply, `fan` the duty of the fans, which counts in place of the profile's table. A name behind `clock` or `voltage` is that of the group of cores that they are of; without one they are of the first group at work. A time may also be a time of day (with a date before it, in a column `Date`, or without one), hours that run on, or minutes with seconds (`12:05`); its unit then does not count.",
    example: 'column die "hot spot" °C',
  },
  {
    word: 'delimiter',
    in: ['log'],
    forms: [[choice('value', 'comma', 'semicolon', 'tab', 'space', 'pipe')], [string('value')]],
    default: { text: 'found from the first lines of the log' },
    means: 'What separates the cells of the log: a word for it, or the one character itself, such as `"^"`.',
    example: 'delimiter semicolon',
  },
  {
    word: 'decimal',
    in: ['log'],
    forms: [[choice('value', 'point', 'comma')]],
    default: { text: 'found from the first lines of the log' },
    means: 'The decimal mark of the log.',
    example: 'decimal comma',
  },
  {
    word: 'measured',
    in: ['run'],
    forms: [[]],
    block: 'measured',
    means: 'Figures read off by hand once nothing was changing. They take precedence over those of a log.',
    example: 'measured { clock 4.71 GHz; voltage 1.231 V; power 182 W; die 64 °C }',
  },
  measured(
    'clock',
    constant('value', 'frequency', positive),
    'The mean clock of the busy cores: of the group that a name behind it says, without one of the first group at work.',
    'clock 4.71 GHz',
    ofGroup,
  ),
  measured(
    'voltage',
    constant('value', 'voltage', positive),
    'The voltage at the die: of the group that a name behind it says, without one of the first group at work.',
    'voltage 1.231 V',
    ofGroup,
  ),
  measured('power', constant('value', 'power', notNegative), 'The power of the whole part.', 'power 182 W'),
  measured('die', constant('value', 'temperature', benchTemperature), 'The hottest core.', 'die 64 °C'),
  measured('plate', constant('value', 'temperature', benchTemperature), 'The cold plate.', 'plate 41.5 °C'),
  measured('coolant', constant('value', 'temperature', benchTemperature), 'The coolant.', 'coolant 33 °C'),
  measured(
    'current',
    constant('value', 'current', notNegative),
    'The current of the cores, of all supply rails together.',
    'current 138 A',
  ),
  measured(
    'drive',
    constant('value', 'current', notNegative),
    'The current through each module of the plate.',
    'drive 6.2 A',
  ),
  measured(
    'drive-voltage',
    constant('value', 'voltage', notNegative),
    "The voltage at the plate's supply, leads included.",
    'drive-voltage 24.1 V',
  ),
  measured(
    'fan',
    constant('value', 'percent', { min: 0, max: 100 }),
    "The duty of the fans. It counts in place of what the profile's table gives.",
    'fan 60 %',
  ),
  {
    word: 'score',
    in: ['run'],
    forms: [[{ slot: 'number', name: 'value', bounds: positive }, string('unit'), choice('better', 'higher', 'lower')]],
    many: true,
    means:
      'What a benchmark gave, in its own unit, and whether higher or lower is better. Several scores give a 95 % interval of the gain: every ratio of the means that Student’s t test does not reject.',
    example: 'score 18240 "points" higher',
  },
  {
    word: 'held',
    in: ['run'],
    forms: [[setting('value', 'time', positive)]],
    means:
      'It ran this long without a fault: the voltage was enough at that ratio and temperature. A fit of `needs-slope` counts it from 10 min on.',
    source: 'model section 2',
    example: 'held 30 min',
  },
  {
    word: 'stopped',
    in: ['run'],
    forms: [[literal('after'), setting('after', 'time', notNegative), string('what')]],
    means:
      'It did not last: after how long, and what was seen. A fit of `needs-slope` counts it as too little voltage where that is a hang, a freeze, a crash, an error, a wrong result, a panic or a restart, and the die was below its limit.',
    source: 'model section 2',
    example: 'stopped after 12 min "hang"',
    caution: 'A fault under load can corrupt what is being written to disk.',
  },
]
