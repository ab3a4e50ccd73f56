/** Standard input, read as a file. */

import { join } from 'node:path'
import type { Service } from '../service.ts'
import { decode } from '../workspace/files.ts'
import { uriOfPath } from '../workspace/node-files.ts'
import type { AskedFile } from './files.ts'
import { type Io, UnusableCall } from './io.ts'
import { linesOf } from './lines.ts'

const inputName = 'standard input'

/** The text of standard input. Errors: `UnusableCall` where its bytes are not valid UTF-8. */
function inputText(bytes: Uint8Array, name: string = inputName): string {
  const { text, invalidAt } = decode(bytes)
  if (invalidAt === undefined) return text
  const { line, column } = linesOf(text).at(invalidAt)
  throw new UnusableCall(`${name}:${line}:${column}: not valid UTF-8 from here on, so it is not used`)
}

/** Loads standard input and what it uses, as if it stood in the folder of the call. */
export async function loadInput(io: Io, service: Service): Promise<AskedFile> {
  const path = join(io.folder, inputName)
  const uri = uriOfPath(path)
  service.workspace.set(uri, inputText(await io.readInput()), 0)
  await service.workspace.load([uri])
  return { path, uri, shown: inputName }
}
