/** The small picture in a hover: of a row of `steps` its part of the map, of a cooler its cooling chart. */
import { drawCooling } from '../../charts/cooling.ts'
import { drawMap } from '../../charts/map.ts'
import { svgDataUri } from '../../charts/style.ts'
import { counts } from '../../semantic/definitions.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import type { Workspace } from '../../workspace/workspace.ts'
import { cursorAt } from '../cursor.ts'
import { groupsOfRow } from '../facts/group.ts'
import { prose } from '../markdown.ts'
import { evaluationOf, profilesOn } from '../profiles.ts'
import { referenceAt } from '../references/reference.ts'
import { coolingData } from './cooling-view.ts'
import { mapData } from './map-view.ts'
import { casesOf, sceneOf, worstOf } from './scene.ts'

/** In pixels of a hover. */
const size = { width: 360, height: 110, id: 'hover' }
/** A longer hover is slow to show. */
const mostBytes = 30_000

function ofCooler(workspace: Workspace, evaluation: Evaluation | undefined) {
  const scene = evaluation && sceneOf(workspace, evaluation)
  const worst = scene && worstOf(casesOf(scene, undefined))
  return worst && drawCooling(coolingData(scene, worst), size)
}

/** The picture as Markdown with its alternative text; undefined where the place has none. */
export function hoverPicture(workspace: Workspace, uri: string, offset: number): string | undefined {
  const view = workspace.view(uri)
  if (view === undefined) return undefined
  const cursor = cursorAt(view, offset)
  const { match, definition } = cursor
  const own = evaluationOf(view, definition)
  const named = referenceAt(cursor)
  const cooler =
    named?.kind === 'cooler'
      ? named.definition
      : definition?.kind === 'cooler' && match === cursor.path[0]
        ? definition
        : undefined
  let picture: ReturnType<typeof ofCooler>
  if (cooler !== undefined) picture = ofCooler(workspace, own ?? profilesOn(workspace, view, cooler)[0])
  else if (own !== undefined && match?.place === 'steps' && match.word?.word === '' && match.sound) {
    const range = counts(match, 'cores')
    const scene = sceneOf(workspace, own)
    const groups = groupsOfRow(own.profile, match)
    const onlyGroups = groups.length === 0 ? undefined : groups
    const data = scene && range && mapData(scene, { onlyCores: [range.from, range.to], onlyGroups })
    picture = data && drawMap(data, size)
  }
  if (picture === undefined) return undefined
  const address = svgDataUri(picture)
  return address.length > mostBytes ? undefined : `![${prose(picture.title)}](${address})`
}
