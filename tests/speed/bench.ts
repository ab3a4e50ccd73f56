/**
 * Prints what this machine measures beside what is wanted: `npm run bench`, with `-- --quick` in fewer rounds. Nothing
 * here is asserted; numbers of another machine differ. `--json FILE` writes the figures as well, `--only whole`, `--only
 * servers`, `--only typing` or `--only planning` measures a part; `--details` then measures each thing one by one, with `--against FOLDER`
 * beside another work tree of this project.
 */

import { rmSync, writeFileSync } from 'node:fs'
import { availableParallelism, cpus, loadavg } from 'node:os'
import { parseArgs } from 'node:util'
import { measureDetails } from './details.ts'
import { bursts } from './goals/burst.ts'
import { inProcess } from './goals/in-process.ts'
import { scenes } from './goals/scenes.ts'
import { servers } from './goals/servers.ts'
import { full, quick } from './goals/size.ts'
import { isMet, markdownHead, markdownRow, type Row } from './goals/table.ts'
import { measurePropose } from './propose.ts'
import { measureReach } from './reach.ts'

const { values: options } = parseArgs({
  options: {
    quick: { type: 'boolean' },
    json: { type: 'string' },
    only: { type: 'string' },
    details: { type: 'boolean' },
    against: { type: 'string' },
  },
})

const size = options.quick === true ? quick : full
const machine = {
  processor: cpus()[0]?.model ?? 'unknown processor',
  threads: availableParallelism(),
  node: process.version,
  date: new Date().toISOString().slice(0, 10),
  loadAverage: loadavg()[0] ?? 0,
}
const say = (line = ''): void => void process.stdout.write(`${line}\n`)
const tables: Record<'whole' | 'typing', Row[]> = { whole: [], typing: [] }
const into = (rows: Row[]) => (row: Row) => {
  rows.push(row)
  say(markdownRow(row))
}
const isAsked = (part: string): boolean => options.only === undefined || options.only === part

say(`${machine.processor}, ${machine.threads} threads, Node ${machine.node}, ${machine.date}.`)
say(
  `Load average at the start ${machine.loadAverage.toFixed(1)}; works by turns, medians of several rounds after a warm-up.`,
)
say()
if (isAsked('whole') || isAsked('servers')) {
  say('Compared is processor time of the main thread against the JSON language service, with a schema over the same')
  say('information; over stdio what the clock shows.')
  say()
  say(markdownHead(`${size.lines.toLocaleString('en')} lines`))
  if (isAsked('whole')) await inProcess(size, into(tables.whole))
  if (isAsked('servers')) await servers(size, into(tables.whole))
  say()
}
if (isAsked('typing')) {
  say('Ten characters a second; at each the editor asks for all that it shows and takes back what is out of date.')
  say()
  say(markdownHead('typing'))
  const typed = scenes(size)
  try {
    await bursts(typed.scenes, size, into(tables.typing))
  } finally {
    for (const folder of typed.folders) rmSync(folder, { recursive: true, force: true })
  }
  say()
}
if (isAsked('planning')) {
  await measurePropose(say)
  await measureReach(say)
  say()
}
const all = [...tables.whole, ...tables.typing]
say(`${all.filter(isMet).length} of ${all.length} goals are met here.`)
if (options.json !== undefined) {
  const judged = (rows: readonly Row[]) => rows.map(row => ({ ...row, met: isMet(row) }))
  const figures = { machine, size, whole: judged(tables.whole), typing: judged(tables.typing) }
  writeFileSync(options.json, `${JSON.stringify(figures, undefined, 2)}\n`)
}
if (options.details === true) {
  say()
  await measureDetails(options.against)
}
