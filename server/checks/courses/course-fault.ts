import { idleFaults } from '../../semantic/courses.ts'
import { text } from '../../semantic/definitions.ts'
import { expectedCourses } from '../support/expected-courses.ts'
import { settingPlace } from '../support/place.ts'
import type { Check } from '../types.ts'

export const courseFault: Check = {
  code: 'course-fault',
  severity: 'information',
  title: 'A fault of something that the cooler does not have',
  page: {
    what: 'Each `fault` of a course that a profile expects something of: whether the profile’s cooler has a pump, a fan, a radiator, a chiller or a drive that could fail.',
    why: 'Such a fault does nothing, and the course says nothing about what it was meant to test.',
    remedy: 'Fail what this cooler has, or expect it of a profile on another cooler.',
    example:
      'course stops {\n  pair 5 s\n  fault chiller 0 %\n  pair 5 s\n}\n\nprofile daily {\n  steps { 1 to 8 cores 50x }\n  expect course stops die <= 95 °C\n}',
  },
  *inProfile(evaluation) {
    const { bench } = evaluation.input
    if (bench === undefined) return
    for (const { sourced, definition } of expectedCourses(evaluation)) {
      for (const match of idleFaults(bench, definition)) {
        const what = text(match, 'fault')?.text ?? 'drive'
        yield {
          at: settingPlace(evaluation.profile, sourced),
          course: definition.name,
          message: `Fault does nothing: \`fault ${what}\` of course \`${definition.name}\` meets a cooler of kind ${bench.cooler.kind}, which has no ${what} to fail. Fail what it has, or expect this of a profile on another cooler.`,
        }
      }
    }
  },
}
