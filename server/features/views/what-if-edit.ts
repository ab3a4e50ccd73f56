/** What the sliders of a picture would be as lines of the file: made where a person asks for them, and shown first. */

import { replace, setWhole, stateIn } from '../../checks/support/physics-edits.ts'
import { headSpan } from '../../checks/support/place.ts'
import type { FixEdit } from '../../checks/types.ts'
import { entry } from '../../semantic/definitions.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import { plain } from '../../wording/figures.ts'
import type { Workspace } from '../../workspace/workspace.ts'
import { type FileEdits, placedEdits } from '../actions.ts'
import type { WhatIf } from './scene.ts'

/**
 * Air and humidity as lines of the profile's room, the fan's duty as a line of the profile.
 * @returns undefined where nothing is asked for, or there is no room or block to write it in
 */
export function whatIfEdits(
  workspace: Workspace,
  { profile }: Evaluation,
  { airC, humidityPct, fanPct }: WhatIf,
): readonly FileEdits[] | undefined {
  const { room, definition } = profile
  const inRoom = (word: 'air' | 'humidity', line: string): FixEdit | undefined => {
    const stated = room && entry(room.match, word)
    if (room === undefined) return undefined
    return stated === undefined ? stateIn(room, undefined, line) : replace(room, headSpan(stated.statement), line)
  }
  const fanLine = (duty: string): FixEdit | undefined => {
    const stated = profile.key('fan')
    const line = `fan { 0 °C ${duty} }`
    if (stated?.definition !== definition) return setWhole(profile, undefined, undefined, line)
    const { start, end } = stated.match.statement
    return replace(definition, { start, end: stated.match.statement.block?.end ?? end }, line)
  }
  const edits = [
    ...(airC === undefined ? [] : [inRoom('air', `air ${plain(airC)} °C`)]),
    ...(humidityPct === undefined ? [] : [inRoom('humidity', `humidity ${plain(humidityPct)} %`)]),
    ...(fanPct === undefined ? [] : [fanLine(`${plain(fanPct)} %`)]),
  ]
  if (edits.length === 0 || edits.includes(undefined)) return undefined
  return placedEdits(workspace.documents(), edits as FixEdit[])
}
