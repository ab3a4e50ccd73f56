/** `detent reach`: what it would take for an expectation to hold. */
import { type Command, Option } from 'commander'
import {
  OverlayTrouble,
  overlayName,
  type Reach,
  ReachTrouble,
  type ReadExpectation,
  reachSlices,
  readExpectation,
  shownPlace,
} from '../service.ts'
import { pathOfUri } from '../workspace/node-files.ts'
import { allowOutsideOption, type ReachOptions, shownPath } from './files.ts'
import { finishedInSight } from './in-sight.ts'
import { type ExitCode, type Io, UnusableCall } from './io.ts'
import { inOneLine } from './lines.ts'
import { readLogs } from './logs.ts'
import { loadAsked, type NamedProfile, profileNamed } from './named-profiles.ts'
import { type PlaceOf, reachJson, reachText } from './output/reach-output.ts'
import { type AsIf, asIfLines, layStatements, standInOption } from './stand-ins.ts'

const examples = `
Changes each value by itself, both ways from what it is, up to ten times what counts as one, and shows the nearest change
with which the expectation holds, no other stops holding and no error or warning is new. Every answer is checked in full,
as the text that it makes, but for runs: they were made with the bench as it is. asks is the change divided by one:

  step, ratio given back    1 ratio-step             held plate, its margin   1 K in 0.5 K
  band threshold, return    2 K in 1 K               room's warm end          1 K in 0.5 K
  voltage                   10 mV in the board's step (5 mV without)
  power, current limits     10 W, 10 A in 1          radiator, block          10 % in 1 %
  die limit                 2 K in 1 K               cores of the load        1
  fan, every row            10 points in 1           another cooler           counts 10
  drive current, voltage    1 A, 1 V in 0.1

Nothing goes above the part's core-voltage, die-limit or ratio, or the module's current; what asks for more of the part than
that is refused. Settings are written in the profile itself, never in its base. Settings come first, then what asks least,
then what costs other loads least clock. Where nothing alone does it, two settings are changed
in steps of one, least sum first, for 20 s at most; for a course that time includes the search for single changes.
Exit code: 0 an answer, or it holds already; 1 none. Nothing is written.

JSON: version, profile, expectation, now (predicted, unit, holds), answers (kind, file, line, from, to, unit, asks,
bench, predicted, costs (load, clock_mhz lost)), pairs (changes (kind, file, line, from, to, unit, asks), asks, predicted,
costs), and where pairs were looked for looked (asks: all pairs up to that sum; cut: the time was up). from and to of a
fan are points of every row, of a radiator percent of every row; of a cooler they are names.

Examples:
  detent reach winter 'render holds >= 4.8 GHz for 20 min'    what a faster clock would take
  detent reach winter 'idle plate above dew by 3 K' bench/    a drier plate
  detent reach winter 'render die <= 80 °C' --with room=garage-summer
  detent reach winter 'course session die <= 82 °C'           from the start of a course to its end
`

interface ReachCall extends ReachOptions {
  readonly output: string
  readonly with: AsIf
}

function expectationOf(text: string): ReadExpectation {
  try {
    return readExpectation(text)
  } catch (error) {
    if (!(error instanceof OverlayTrouble)) throw error
    throw new UnusableCall(inOneLine(`expectation, column ${(error.offset ?? 0) + 1}: ${error.plain}`))
  }
}

function reached(io: Io, { service, uri, name }: NamedProfile, asked: ReadExpectation): Reach {
  try {
    return finishedInSight(io, `${name}: looking for changes`, reachSlices(service, uri, name, asked.sourced))
  } catch (error) {
    if (!(error instanceof ReachTrouble)) throw error
    const place = error.at === undefined ? '' : `expectation, column ${asked.columnAt(error.at)}: `
    throw new UnusableCall(inOneLine(place + error.message))
  }
}

export function addReach(program: Command, io: Io, finish: (code: ExitCode) => void): void {
  program
    .command('reach')
    .description('Find the smallest change with which an expectation holds.')
    .argument('<profile>', 'the name of the profile')
    .argument('<expectation>', 'as behind `expect`')
    .argument('[paths...]', 'files, or folders with all .detent files below them (default: this folder)')
    .addOption(new Option('--output <format>', 'output format').choices(['text', 'json']).default('text'))
    .addOption(standInOption())
    .addOption(allowOutsideOption())
    .addHelpText('after', examples)
    .action(async (name: string, text: string, paths: string[], call: ReachCall) => {
      const asked = expectationOf(text)
      const loaded = await loadAsked(io, paths, call, 'with runs')
      const own = profileNamed(loaded, name)
      const { service, uri, file, line } = own
      layStatements(service, call.with, [{ uri }, ...loaded.files], [name])
      await readLogs(service, io, loaded.files)
      const reach = reached(io, own, asked)
      const placeOf: PlaceOf = change => {
        const document = service.workspace.document(change.uri)
        if (document === undefined) return { file, line }
        const place = shownPlace(document, change.offset)
        const shown = shownPath(io, pathOfUri(place.uri) ?? place.uri)
        return { file: place.overlay === undefined ? shown : overlayName(place.overlay), line: place.line }
      }
      if (call.output === 'json') io.out.write(reachJson(reach, placeOf))
      else {
        for (const one of asIfLines(call.with)) io.out.write(`${one}\n`)
        io.out.write(reachText(reach, `${file}:${line}`, placeOf, io))
      }
      finish(reach.now.holds === true || reach.answers.length + reach.pairs.length > 0 ? 0 : 1)
    })
}
