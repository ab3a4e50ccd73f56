/** Where a person types in the second table. */

import { cpSync, mkdtempSync, readdirSync, readFileSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { pathToFileURL } from 'node:url'
import { root } from '../../harness/sources.ts'
import { benchText, longText, profileText } from '../texts.ts'
import type { Scene } from './burst.ts'
import type { Size } from './size.ts'

const inProfile = { below: /^ {2}vector -1x/, typed: 'expect weave margin >= 20 W ' }

function exampleFolder(): string {
  const folder = mkdtempSync(join(tmpdir(), 'detent-typing-'))
  cpSync(join(root, 'grammar/examples/bench'), folder, { recursive: true })
  return folder
}

function example(folder: string, file: string): Pick<Scene, 'folder' | 'uri' | 'text'> {
  const path = join(folder, file)
  return { folder: pathToFileURL(folder).href, uri: pathToFileURL(path).href, text: readFileSync(path, 'utf8') }
}

/** Its logs go on for as long as it takes: the last row of each comes again and again, a tenth of a second later. */
function lengthened(folder: string, bytes: number): number {
  const logs = join(folder, 'logs')
  const names = readdirSync(logs)
  for (const name of names) {
    const rows = readFileSync(join(logs, name), 'utf8').trimEnd().split('\n')
    const separator = rows[0]?.charAt('elapsed'.length) ?? ''
    const [time = '', ...figures] = rows.at(-1)?.split(separator) ?? []
    const decimal = separator === ';' ? ',' : '.'
    const behind = figures.join(separator)
    const parts = [`${rows.join('\n')}\n`]
    for (let made = parts[0]?.length ?? 0, row = 1; made < bytes; row++) {
      const at = Number(time.replace(',', '.')) + row / 10
      const text = `${at.toFixed(1).replace('.', decimal)}${separator}${behind}\n`
      parts.push(text)
      made += text.length
    }
    writeFileSync(join(logs, name), parts.join(''))
  }
  return names.length
}

/** Twenty profiles, each under twenty loads of every core count, on a plate held above the dew point. */
function crowdedPlate(): string {
  const loads = Array.from(
    { length: 20 },
    (_, index) => `load work-${index} { cores 1 to 12; activity ${(0.5 + index / 40).toFixed(3)} }\n`,
  )
  const profiles = Array.from({ length: 20 }, (_, index) => profileText(2 * index))
  return `${benchText}${loads.join('')}${profiles.join('')}`
}

export function scenes(size: Size): { readonly scenes: readonly Scene[]; readonly folders: readonly string[] } {
  const folder = exampleFolder()
  const heavy: Scene = {
    name: 'example `heavy-work`',
    ...example(folder, 'heavy-work.detent'),
    below: /^ {2}vector -2x/,
    typed: 'expect render margin >= 20 W ',
    completionP95Ms: 2,
    findingsP95Ms: 8,
  }
  const inRun = { below: /^ {2}humidity 45 %/, typed: 'score 18120 "points" higher ' }
  const runs: Scene = {
    name: 'example `runs`',
    ...example(folder, 'runs.detent'),
    ...inRun,
    completionP95Ms: 5,
    findingsP95Ms: 20,
  }
  const long = size.logBytes > 0 ? exampleFolder() : undefined
  const logs = long === undefined ? 0 : lengthened(long, size.logBytes)
  const withLogs: readonly Scene[] =
    long === undefined
      ? []
      : [
          {
            name: `example \`runs\` with ${logs} logs of ${size.logBytes / 1e6} MB`,
            ...example(long, 'runs.detent'),
            ...inRun,
            completionP95Ms: 5,
            findingsP95Ms: 40,
          },
        ]
  const texts = size.typedLines.map((lines): Scene => {
    const uri = `file:///bench/long-${lines}.detent`
    const name = `${lines.toLocaleString('en')} lines`
    return { name, uri, text: longText(lines), ...inProfile, completionP95Ms: 5, findingsP95Ms: 15 }
  })
  const plate: Scene = {
    name: '20 profiles × 20 loads of 1 to 12 cores, plate with dew guard',
    uri: 'file:///bench/crowded.detent',
    text: crowdedPlate(),
    ...inProfile,
    completionP95Ms: 5,
    findingsP95Ms: 50,
  }
  return {
    scenes: [heavy, runs, ...withLogs, ...texts, plate],
    folders: long === undefined ? [folder] : [folder, long],
  }
}
