/** A course followed at once, to its end. */

import {
  type Bench,
  type Corner,
  type Course,
  type CourseNotRun,
  type CourseOptions,
  type CourseRun,
  followCourseInSlices,
} from '../../server/model/index.ts'
import { finished } from '../../server/model/slices.ts'

export function followCourse(
  bench: Bench,
  course: Course,
  corner: Corner,
  options: CourseOptions = {},
): CourseRun | CourseNotRun {
  return finished(followCourseInSlices(bench, course, corner, options))
}
