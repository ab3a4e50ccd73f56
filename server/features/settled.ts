import { matchChunk } from '../../grammar/match.ts'
import type { Chunk } from '../../grammar/tree.ts'
import type { Match } from '../../grammar/values.ts'
import { type Evaluation, restsOn } from '../semantic/evaluate.ts'
import type { FileView } from '../workspace/workspace.ts'

/**
 * Whether the text that a profile rests on reads. A statement that does not read is left out of the prediction, and a
 * default may stand in its place: such figures are of a bench that nobody meant, and come and go while a line is typed.
 */

interface Reading {
  /** Everything in the chunk that a prediction may rest on reads. */
  readonly whole: boolean
  /** A definition other than a profile or a run lost its name or key word, so that whoever names it cannot find it. */
  readonly lostDefinition: boolean
}

/** Remarks, acceptances and what is only carried change no figure. */
function changesFigures({ word }: Match): boolean {
  return word?.carried !== true && word?.word !== 'allow'
}

function reads(match: Match): boolean {
  return !changesFigures(match) || (match.sound && match.children.every(reads))
}

/** Evicted with the chunk itself. */
const readings = new WeakMap<Chunk, Reading>()

function readingOf(chunk: Chunk): Reading {
  const known = readings.get(chunk)
  if (known !== undefined) return known
  const matches = matchChunk(chunk)
  const reading = {
    whole: chunk.problems.length === 0 && matches.every(reads),
    lostDefinition: matches.some(({ sound, word }) => !sound && word?.word !== 'profile' && word?.word !== 'run'),
  }
  readings.set(chunk, reading)
  return reading
}

/** Whether a file that the view sees has lost a definition; evicted with the view. */
const lost = new WeakMap<FileView, boolean>()

function hasLostDefinition(view: FileView): boolean {
  let found = lost.get(view)
  if (found === undefined) {
    found = view.documents.some(({ starts }) => [...starts.keys()].some(chunk => readingOf(chunk).lostDefinition))
    lost.set(view, found)
  }
  return found
}

/** Whether what a profile comes to can be relied on; where not, what was shown last of it may stay. */
export function isSettled(view: FileView, { input, profile }: Evaluation): boolean {
  if (input.bench === undefined || hasLostDefinition(view)) return false
  return restsOn(profile).every(definition => definition === undefined || readingOf(definition.chunk).whole)
}
