/**
 * The logs of the example bench. Its part is run with constants that differ from those the description states, so that
 * measured and predicted disagree and a fit has something to find.
 *
 * `node tests/harness/example-logs.ts` writes them.
 */

import { mkdirSync, writeFileSync } from 'node:fs'
import { fileURLToPath } from 'node:url'
import type { WorkLoad } from '../../server/model/prepare.ts'
import type { Bench, Part } from '../../server/model/types.ts'
import { createService } from '../../server/service.ts'
import { nodeFiles, uriOfPath } from '../../server/workspace/node-files.ts'
import { type LogOptions, syntheticLog } from './synthetic-logs.ts'

const folder = fileURLToPath(new URL('../../grammar/examples/bench/', import.meta.url))

/** What the invented sample really is. */
export const realConstants: Partial<Part> = {
  switchingNf: 2.41,
  leakageW: 21.5,
  leakageDoublingK: 26.5,
  sharedPowerW: 14.2,
  packageResistanceKPerW: 0.112,
  coreResistanceKPerW: 0.5,
}

interface ExampleLog extends Omit<LogOptions, 'bench' | 'load' | 'corner'> {
  readonly file: string
  readonly profile: string
  readonly load: string
  readonly airC: number
  readonly humidityPct: number
}

const all = ['clock', 'voltage', 'power', 'die'] as const

const exampleLogs: readonly ExampleLog[] = [
  {
    file: 'heavy-render.csv',
    profile: 'heavy-work',
    load: 'render',
    airC: 22.5,
    humidityPct: 45,
    seconds: 2400,
    seed: 11,
    columns: [...all, 'plate', 'coolant'],
  },
  {
    file: 'heavy-compile.csv',
    profile: 'heavy-work',
    load: 'compile',
    airC: 23,
    humidityPct: 45,
    seconds: 2100,
    seed: 12,
    columns: [...all, 'plate', 'coolant'],
    mishaps: { 300: 'cut', 301: 'garbled', 700: 'blank', 900: 'gap' },
  },
  {
    file: 'heavy-browse.csv',
    profile: 'heavy-work',
    load: 'browse',
    airC: 24,
    humidityPct: 44,
    seconds: 1800,
    seed: 13,
    columns: all,
    delimiter: ';',
    decimal: ',',
  },
  {
    file: 'winter-render.csv',
    profile: 'winter',
    load: 'render',
    airC: 6,
    humidityPct: 60,
    seconds: 2100,
    seed: 14,
    columns: all,
    delimiter: ';',
    decimal: ',',
  },
  {
    file: 'winter-browse.csv',
    profile: 'winter',
    load: 'browse',
    airC: 8.5,
    humidityPct: 62,
    seconds: 1800,
    seed: 15,
    columns: all,
    delimiter: ';',
    decimal: ',',
  },
  {
    file: 'light-compile.csv',
    profile: 'light-work',
    load: 'compile',
    airC: 25,
    humidityPct: 45,
    seconds: 1200,
    seed: 16,
    columns: all,
    delimiter: '\t',
    mishaps: { 400: 'header' },
  },
  // The logger had no voltage sensor that evening.
  {
    file: 'light-browse.csv',
    profile: 'light-work',
    load: 'browse',
    airC: 25.5,
    humidityPct: 45,
    seconds: 1200,
    seed: 17,
    columns: ['clock', 'power', 'die'],
    delimiter: '\t',
  },
  {
    file: 'tank-render.csv',
    profile: 'cold-tank-sprint',
    load: 'render',
    airC: 18,
    humidityPct: 58,
    seconds: 900,
    seed: 18,
    columns: all,
  },
  {
    file: 'tank-browse.csv',
    profile: 'cold-tank-sprint',
    load: 'browse',
    airC: 18,
    humidityPct: 58,
    seconds: 600,
    seed: 19,
    columns: all,
  },
]

/** Sampling of the examples, so that they stay small. */
const STEP_S = 2

/** The text of every example log, by its file's name. */
export async function exampleLogTexts(): Promise<ReadonlyMap<string, string>> {
  const service = createService(nodeFiles)
  const files = ['heavy-work', 'light-work', 'plate-stack', 'cold-tank'].map(name =>
    uriOfPath(`${folder}${name}.detent`),
  )
  await service.workspace.load(files)
  const evaluations = files.flatMap(uri => service.evaluations(uri))
  const texts = new Map<string, string>()
  for (const { file, profile, load, airC, humidityPct, ...options } of exampleLogs) {
    const { input } = evaluations.find(one => one.profile.definition.name === profile) as (typeof evaluations)[number]
    const stated = input.bench as Bench
    const bench = { ...stated, part: { ...stated.part, ...realConstants } }
    const found = input.loads.find(({ name }) => name === load)?.load as WorkLoad
    texts.set(file, syntheticLog({ bench, load: found, corner: { airC, humidityPct }, stepS: STEP_S, ...options }))
  }
  return texts
}

if (import.meta.main) {
  mkdirSync(`${folder}logs`, { recursive: true })
  for (const [file, text] of await exampleLogTexts()) {
    writeFileSync(`${folder}logs/${file}`, text)
    console.log(`${file}  ${Math.round(text.length / 1000)} kB`)
  }
}
