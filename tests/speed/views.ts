/**
 * What charts cost: an idle editor that never opens the panel (start-up and memory of the server with the charts and with
 * empty functions in their place), and a person who asks for one. `node tests/speed/views.ts`.
 */
import { spawnSync } from 'node:child_process'
import { mkdtempSync, readFileSync, rmSync, statSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { build, type Plugin } from 'esbuild'
import { createService, type Service, subjectAt, svgElement, viewInSlices } from '../../server/service.ts'
import { nodeFiles, uriOfPath } from '../../server/workspace/node-files.ts'
import { nodeLogs } from '../harness/file-systems.ts'
import { quantile, sortedMs } from './rounds.ts'

const root = fileURLToPath(new URL('../..', import.meta.url))

/** Charts as empty functions, under the same names. */
const withoutCharts: Plugin = {
  name: 'without-charts',
  setup: ({ onLoad }) => {
    onLoad({ filter: /[/\\]server[/\\]charts[/\\].*\.ts$/ }, ({ path }) => {
      const names = [...readFileSync(path, 'utf8').matchAll(/^export (?:const|function|class) (\w+)/gm)]
      return { contents: names.map(([, name]) => `export const ${name} = () => ({})`).join('\n'), loader: 'js' }
    })
  },
}

async function bundle(into: string, plugins: Plugin[]): Promise<string> {
  await build({
    absWorkingDir: root,
    entryPoints: ['server/lsp/worker.ts'],
    outfile: into,
    bundle: true,
    minify: true,
    // As it is shipped: the server runs without Node as well.
    platform: 'browser',
    format: 'cjs',
    target: 'es2023',
    logLevel: 'error',
    plugins,
  })
  return into
}

interface Start {
  readonly ms: number
  readonly heapMb: number
}

/** A process of its own that loads a bundle: the processor's time for it, and what it holds after a collection. */
function started(path: string): Start {
  const text = `const t = process.cpuUsage(); require(${JSON.stringify(path)}); const { user, system } = process.cpuUsage(t); const ms = (user + system) / 1000; gc(); console.log(JSON.stringify({ ms, heapMb: process.memoryUsage().heapUsed / 1e6 })); process.exit(0)`
  const { stdout, stderr } = spawnSync(process.execPath, ['--expose-gc', '-e', text], { encoding: 'utf8' })
  const line = stdout.trim().split('\n').at(-1)
  if (line === undefined || line === '') throw new Error(`The server does not load: ${stderr}`)
  return JSON.parse(line) as Start
}

const middle = (values: readonly number[]): number =>
  quantile(
    values.toSorted((a, b) => a - b),
    0.5,
  )

type Say = (line?: string) => void

async function idle(say: Say, rounds: number): Promise<void> {
  say('An editor that never opens the panel: the server loaded with charts, and with empty functions in their place')
  const folder = mkdtempSync(join(tmpdir(), 'detent-speed-'))
  try {
    const paths = [
      await bundle(join(folder, 'with.cjs'), []),
      await bundle(join(folder, 'without.cjs'), [withoutCharts]),
    ]
    const starts = paths.map((): Start[] => [])
    // By turns: what slows the machine meanwhile slows both.
    for (let round = 0; round <= rounds; round++)
      for (const [at, path] of paths.entries()) {
        const one = started(path)
        if (round > 0) starts[at]?.push(one)
      }
    const [ms, heap] = [
      starts.map(all => middle(all.map(one => one.ms))),
      starts.map(all => middle(all.map(one => one.heapMb))),
    ]
    const [charts = 0, none = 0] = ms
    const [heapCharts = 0, heapNone = 0] = heap
    const bytes = paths.map(path => statSync(path).size)
    say(
      `  start-up ${(charts / none).toFixed(3)} times, ${charts.toFixed(1)} ms against ${none.toFixed(1)} ms of the processor (medians of ${rounds})`,
    )
    say(
      `  memory   ${(heapCharts / heapNone).toFixed(3)} times, ${heapCharts.toFixed(2)} MB against ${heapNone.toFixed(2)} MB of heap`,
    )
    say(
      `  bundle   ${((bytes[0] ?? 0) / (bytes[1] ?? 1)).toFixed(3)} times, ${((bytes[0] ?? 0) - (bytes[1] ?? 0)) / 1000} kB more`,
    )
  } finally {
    rmSync(folder, { recursive: true, force: true })
  }
}

const bench = join(root, 'grammar', 'examples', 'bench')
const size = { width: 640, height: 480 }

interface Seen {
  readonly title: string
  readonly svg: string
  readonly isFirst: boolean
}

/** @param shown the title of what is shown already: another picture may come first without what takes long */
function drawn(service: Service, uri: string, place: string, shown = ''): Seen {
  const text = service.workspace.document(uri)?.source.text ?? ''
  const subject = subjectAt(service.workspace, service.bench, uri, text.indexOf(place))
  if (subject === undefined) throw new Error(`no picture belongs to ${place}`)
  const making = viewInSlices(service.workspace, service.bench, uri, subject, { size, shown })
  let step = making.next()
  while (step.done !== true) step = making.next()
  if ('waits' in step.value) throw new Error(step.value.waits)
  const { picture, isFirst } = step.value
  return { title: picture.title, svg: svgElement(picture), isFirst }
}

async function asked(say: Say): Promise<void> {
  say(
    'A picture that is asked for, on the example bench (first: the processor’s time); a panel has 300 ms, typing 100 ms',
  )
  const uriOf = (name: string): string => uriOfPath(join(bench, `${name}.detent`))
  const places = [
    ['map', 'plate-stack', 'profile winter'],
    ['cooling', 'plate-stack', 'drive dew'],
    ['ledger', 'bench', 'needs {'],
    ['course of a run', 'runs', 'run heavy-render'],
  ] as const
  const service = createService(nodeFiles, { logs: nodeLogs })
  await service.workspace.load(['plate-stack', 'heavy-work', 'bench', 'runs'].map(uriOf))
  await service.bench.loadLogs(uriOf('runs'))
  for (const [name, file, place] of places) {
    const start = process.cpuUsage()
    const { svg, title, isFirst } = drawn(service, uriOf(file), place)
    const { user, system } = process.cpuUsage(start)
    const firstMs = (user + system) / 1000
    const more = process.cpuUsage()
    if (isFirst) drawn(service, uriOf(file), place, title)
    const { user: moreUser, system: moreSystem } = process.cpuUsage(more)
    const whole = isFirst ? `, whole ${((moreUser + moreSystem) / 1000).toFixed(0)} ms later` : ''
    const again = quantile(
      sortedMs(() => drawn(service, uriOf(file), place), 20),
      0.5,
    )
    say(
      `  ${name.padEnd(18)} first ${firstMs.toFixed(0).padStart(5)} ms (${(firstMs / 300).toFixed(2)} of a panel's time)${whole}, again ${again.toFixed(1).padStart(6)} ms, ${Math.round(svg.length / 1000)} kB`,
    )
  }
  const uri = uriOf('plate-stack')
  const text = service.workspace.document(uri)?.source.text ?? ''
  const place = text.indexOf('57x') + 1
  let version = 1
  const edits = sortedMs(call => {
    service.workspace.set(uri, text.slice(0, place) + String(3 + (call % 5)) + text.slice(place + 1), ++version)
    drawn(service, uri, 'profile winter')
  }, 40)
  const [p50, p95] = [quantile(edits, 0.5), quantile(edits, 0.95)]
  say(
    `  map after an edit  p50 ${p50.toFixed(1)} ms, p95 ${p95.toFixed(1)} ms (${(p95 / 100).toFixed(2)} of typing's time)`,
  )
}

/** Prints what was measured. */
export async function measureViews(say: Say, rounds = 15): Promise<void> {
  await idle(say, rounds)
  say()
  await asked(say)
}

if (import.meta.main) await measureViews((line = '') => process.stdout.write(`${line}\n`))
