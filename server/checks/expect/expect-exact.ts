import { expectationsOf } from '../../semantic/expectations.ts'
import { predictedText } from '../support/expect-words.ts'
import { settingPlace } from '../support/place.ts'
import type { Check } from '../types.ts'

export const expectExact: Check = {
  code: 'expect-exact',
  severity: 'hint',
  title: 'A plate held at exactly what is expected of it',
  page: {
    what: 'Each `expect` line about the temperature of a thermoelectric plate, by itself or above the dew point, whose drive (`drive dew`, `drive hold`) has the same figure as its target.',
    why: 'The model holds the plate at its target to the last digit, so the expectation holds with nothing left over. On the bench the error of one sensor decides: at 20 °C air a humidity that is read 3 % too low puts the dew point about a kelvin too low.',
    remedy:
      'Drive to more than you expect, by as much as your sensors may be off. There is no quick fix: only you know how far off they may be.',
    example: 'profile winter {\n  cooler te-plate\n  drive dew + 2 K\n  expect idle plate above dew by 2 K\n}',
  },
  *inProfile(evaluation, evidence) {
    const { profile } = evaluation
    for (const expectation of expectationsOf(evaluation, evidence)) {
      if (expectation.exact !== true || expectation.holds !== true) continue
      yield {
        at: settingPlace(profile, expectation.sourced),
        load: expectation.load,
        message: `\`${expectation.text}\` holds with nothing left over: the drive holds the plate at exactly ${predictedText(expectation)}${expectation.figure === 'above-dew' ? ' above the dew point' : ''}, and the error of a sensor decides. Drive to more than you expect.`,
      }
    }
  },
}
