/** Words of `fitted`: what a fit keeps beside the constants of a part, in a file of its own. */

import type { Dimension } from '../units/units.ts'
import { type FittedConstant, fittedConstants, pairsOfCooler } from './fitted-of-cooler.ts'
import { correlatedForms, ofCooler, ofTheGroup } from './part.ts'
import { choice, coefficient, constant, literal, notNegative, optional, reference, rowOf } from './slots.ts'
import type { Form, Slot, Word } from './types.ts'

const resistances = ['package-resistance', 'core-resistance']

/** The value that stands in the part or the cooler now, and what was known of it before the runs. */
function moved(head: readonly Slot[], of: (name: string) => Slot): Form {
  return [...head, of('value'), literal('from'), of('before'), optional(choice('prior', 'usual'))]
}

const withUnit =
  (dimension: Dimension) =>
  (name: string): Slot =>
    constant(name, dimension, notNegative)
const pure = (name: string): Slot => ({ slot: 'number', name, uncertain: true, bounds: { min: 0 } })
const ofPart = (words: readonly string[], of: (name: string) => Slot): Form => moved([choice('constant', ...words)], of)
/** The same as one group has it. */
const ofGroup = (word: string, of: (name: string) => Slot): Form =>
  moved([choice('constant', word), ...ofTheGroup('group')], of)
const ofThe = (words: readonly string[], of: (name: string) => Slot, ...row: Slot[]): Form =>
  moved([choice('constant', ...words), ...row, ...ofCooler], of)

/** One form for all that are measured in the same; what has rows has one of its own. */
const ofCoolers = (): readonly Form[] => {
  const alike = (one: FittedConstant): readonly FittedConstant[] =>
    fittedConstants.filter(other => other === one || (other.dimension === one.dimension && !other.rows && !one.rows))
  return fittedConstants.flatMap(first => {
    const all = alike(first)
    if (all[0] !== first) return []
    const words = all.map(({ word }) => word)
    return [ofThe(words, withUnit(first.dimension), ...(first.rows ? [rowOf('duty')] : []))]
  })
}

export const fittedWords: readonly Word[] = [
  {
    word: 'constant',
    in: ['fitted'],
    forms: [
      ofPart(['switching'], withUnit('capacitance')),
      ofPart(['leakage', 'shared-power', 'idle-power'], withUnit('power')),
      ofPart(['leakage-doubling'], withUnit('temperature-difference')),
      ofPart(['leakage-exponent'], pure),
      ofPart(resistances, withUnit('thermal-resistance')),
      ofPart(['die-heat'], withUnit('heat-capacity')),
      ofGroup('switching', withUnit('capacitance')),
      ofGroup('leakage', withUnit('power')),
      ofGroup('core-resistance', withUnit('thermal-resistance')),
      ...ofCoolers(),
    ],
    many: true,
    means:
      'A constant as a fit wrote it, and behind `from` what was known of it before any run counted, `usual` where nothing was stated. The next fit starts from there, so that no run counts twice; where the part says something else by now, it starts from what the part says.',
    source: 'Bayes: a likelihood counts once',
    example: 'constant switching 2.143 nF ± 0.031 nF from 2 nF ± 0.673 nF usual',
  },
  {
    word: 'counted',
    in: ['fitted'],
    forms: [[reference('run')]],
    many: true,
    means: 'A run that the fitted values contain. A fit without it says so.',
    example: 'counted heavy-render',
  },
  {
    word: 'correlated',
    in: ['fitted'],
    forms: [...correlatedForms(), ...pairsOfCooler.map(pair => [...pair, ...ofCooler, coefficient])],
    many: true,
    default: { text: 'constants are taken as independent' },
    means:
      'The correlation coefficient of the errors of two constants with `±`, of the part or of one of its coolers; the line then counts for profiles with that cooler. What part and cooler themselves say of a pair counts before it.',
    source: 'model section 11; JCGM 100:2008, 5.2',
    example: 'correlated package-resistance block-resistance of big-loop -0.65',
  },
]
