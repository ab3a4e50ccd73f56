/** What the command follows over time: a person at the terminal sees how far it is. */

import type { Definition } from '../semantic/definitions.ts'
import type { Evaluation } from '../semantic/evaluate.ts'
import { type CourseProgress, type FollowedCourse, finished, followAllInSlices, type Service } from '../service.ts'
import { control, type Io } from './io.ts'

/** How often a person at the terminal sees how far it is. */
const tellMs = 200

/** Says how far a course is followed, where a person at the terminal sees it. */
interface Telling {
  readonly tell: ((progress: CourseProgress) => void) | undefined
  /** Takes the line away. */
  readonly done: () => void
}

export function courseInSight({ err }: Io, profile: string, course: string): Telling {
  if (!err.isTerminal) return { tell: undefined, done: () => undefined }
  let toldMs = performance.now()
  const tell = ({ corner, corners, passedS, longestS }: CourseProgress): void => {
    if (performance.now() - toldMs < tellMs) return
    toldMs = performance.now()
    const share = `${Math.floor((100 * passedS) / longestS)} %`
    const line = `${profile}: course ${course}, corner ${corner} of ${corners}, ${share}`
    err.write(`${control('\r')}${line} ${control('\u001b[K')}`)
  }
  return { tell, done: () => err.write(control('\r\u001b[K')) }
}

/** Follows a course; a person at the terminal sees how far it is, and can end the command at any time. */
export function followedInSight(
  io: Io,
  name: string,
  evaluation: Evaluation,
  definition: Definition,
  everyS: number | undefined,
): FollowedCourse {
  const { tell, done } = courseInSight(io, name, definition.name)
  try {
    return finished(followAllInSlices(evaluation, definition, { everyS, tell }))
  } finally {
    done()
  }
}

/** Makes the loads and courses over time that expectations and findings wait for, in the same manner. */
export function makeRunsInSight(io: Io, { runs }: Pick<Service, 'runs'>): void {
  if (!io.err.isTerminal) {
    runs.makeAll()
    return
  }
  const all = runs.pending()
  let isTold = false
  while (runs.pending() > 0) {
    runs.makeSome(tellMs)
    const left = runs.pending()
    if (left === 0) break
    isTold = true
    io.err.write(`${control('\r')}followed over time: ${all - left} of ${all} ${control('\u001b[K')}`)
  }
  if (isTold) io.err.write(control('\r\u001b[K'))
}
