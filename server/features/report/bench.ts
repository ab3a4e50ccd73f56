/** The constants that a report rests on, as they are written, with where they come from: all that it takes to do it again. */

import type { Definition } from '../../semantic/definitions.ts'
import { fileName } from '../../workspace/files.ts'
import type { Workspace } from '../../workspace/workspace.ts'
import { overlayName, shownPlace } from '../overlay/index.ts'
import { type Block, behind, heading } from './blocks.ts'
import type { Summarized } from './overview.ts'
import type { ReportFile } from './source.ts'

/** The file that a definition stands in, and its line there, from one. */
function placeOf(workspace: Workspace, files: readonly ReportFile[], { chunk }: Definition): string {
  for (const document of workspace.documents()) {
    const start = document.starts.get(chunk)
    if (start === undefined) continue
    const { uri, overlay, line } = shownPlace(document, start)
    if (overlay !== undefined) return overlayName(overlay)
    return `${files.find(one => one.uri === uri)?.shown ?? fileName(uri)}, line ${line}`
  }
  return 'in no file'
}

export function benchBlocks(
  workspace: Workspace,
  files: readonly ReportFile[],
  all: readonly Summarized[],
): readonly Block[] {
  const definitions = new Set<Definition>()
  for (const {
    evaluation: { profile },
  } of all) {
    for (const one of [profile.part, profile.cooler, profile.room, profile.board, ...profile.loads])
      if (one !== undefined) definitions.add(one)
  }
  if (definitions.size === 0) return []
  return [
    heading(2, 'Constants of the bench'),
    ...[...definitions].map(one =>
      behind(`${one.kind} ${one.name}: ${placeOf(workspace, files, one)}`, [
        { kind: 'code', text: one.chunk.text.trim() },
      ]),
    ),
  ]
}
