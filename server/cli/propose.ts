/** `detent propose`: the highest steps, and the fewest rows of bands, that hold everywhere. */
import { type Command, InvalidArgumentError, Option } from 'commander'
import {
  acceptedCodes,
  asksOfTrials,
  findUnit,
  noProposalText,
  nothingAsked,
  type ProposeOptions,
  planEdits,
  proposeInSlices,
  toBase,
  unwritableText,
} from '../service.ts'
import { durationS } from './duration.ts'
import { allowOutsideOption, type ReachOptions } from './files.ts'
import { finishedInSight } from './in-sight.ts'
import { type ExitCode, type Io, UnusableCall } from './io.ts'
import { readLogs } from './logs.ts'
import { evaluationOf, layOverAsked, loadAsked, profileNamed } from './named-profiles.ts'
import { proposeJson, proposeText } from './output/propose-output.ts'
import { type AsIf, asIfLines, standInOption } from './stand-ins.ts'
import { writeEdits } from './write-edits.ts'

const examples = `
Steps and bands of the profile do not count; all else does: part, cooler, room, board, limits, drive, fan, voltage,
expectations. Judged is each declared load at its core counts, and a load of full activity at every count, in every corner of
the room. A step is the highest ratio that the loads run themselves, within all limits, in the coolest corner at least; bands
give back what the warmer corners and the fuller loads do not take. Each row says what keeps it from one step more, each row of
bands what keeps it from giving less back and from beginning later.

Groups of cores share the heat: each group has the rows that it carries with the others idle, lower where loads with several at
work ask for it; no row alone could rise.

What is expected of a course is kept as well: the load that runs when it fails is held to a lower die temperature or clock, by
as little as does it, and its row says so.

A load that should not hold a step down is named with --yield: bands may give back under it everywhere. --weight says how
much a load counts in the mean clock that bands are chosen by, and where --rows makes rows share a step.
Without --stable a ratio that a run speaks against is ruled out, and \`needs\` counts as it stands; with it each ratio must
get the voltage that the trials ask for. With --probability each case must be sound in that share of 2,000 draws of the
constants' ±, of 400 where a part has groups of cores; that takes longer.

--write puts steps and bands into the profile itself, never into one that it starts from; comments of rows that go stand
above the table. Exit code 1: nothing is carried at the lowest ratio, or an expectation is not met and was left out.

JSON: version, file, profile, rows (group, from, to, ratio, decided_by, next_fails: load, cores, air_c, humidity_pct, figure,
value, allowed, unit), bands (group, from, to, above_c, drop; less_fails and later_fails: as next_fails with decided_by, what
fails with one ratio-step less given back, and with a threshold one degree higher; null: nothing), return_k, unmet (file, line,
text, predicted, unit, why), before and predicted (as predict), and stuck (as next_fails, with cores and ratio) where nothing
is carried.

Examples:
  detent propose winter                                the highest steps that hold, and why not higher
  detent propose winter --weight render=2 --rows 3     three rows, render counting twice
  detent propose winter --margin '35 W' --die '82 °C'  with so much left to the limit, and the die no hotter
  detent propose winter --stable '95 % for 1 h'        at voltages that trials bear out
  detent propose winter --yield stress --bands 1       one row of bands, and stress may lose ratio everywhere
  detent propose winter --write                        put it into the profile
`

interface ProposeCall extends ReachOptions {
  readonly output: string
  readonly with: AsIf
  readonly weight: ReadonlyMap<string, number>
  readonly yield: readonly string[]
  readonly margin?: number
  readonly die?: number
  readonly stable?: ProposeOptions['stable']
  readonly probability?: number
  readonly rows?: number
  readonly bands: number
  readonly write?: true
}

function weightAlso(text: string, before: ReadonlyMap<string, number>): ReadonlyMap<string, number> {
  const [, name, weight] = /^([a-z][a-z0-9-]*)=(\d+(?:\.\d+)?)$/.exec(text.trim()) ?? []
  if (name === undefined) throw new InvalidArgumentError('Write a load and its weight, such as render=2.')
  return new Map([...before, [name, Number(weight)]])
}

const also = (name: string, before: readonly string[]): readonly string[] => [...before, name]

/** A quantity of one dimension, in its base unit. */
const quantityOf =
  (dimension: string, example: string) =>
  (text: string): number => {
    const [, sign, number, symbol] = /^(-?)(\d+(?:\.\d+)?)\s*([^\s\d.]\S*)$/.exec(text.trim()) ?? []
    const unit = findUnit(symbol ?? '')
    if (number === undefined || unit?.dimension !== dimension)
      throw new InvalidArgumentError(`Write a number with its unit, such as '${example}'.`)
    const value = toBase(Number(number), unit)
    return sign === '-' ? -value : value
  }

function stableOf(text: string): ProposeOptions['stable'] {
  const [, percent, time] = /^(\d+(?:\.\d+)?)\s*%\s+for\s+(\S.*)$/.exec(text.trim()) ?? []
  const probability = Number(percent) / 100
  if (time === undefined || !(probability > 0 && probability < 1))
    throw new InvalidArgumentError("Write how probable and for how long, such as '95 % for 1 h'.")
  return { probability, forS: durationS(time) }
}

function shareOf(text: string): number {
  const share = /^\d*(?:\.\d+)?$/.test(text.trim()) ? Number(text) : Number.NaN
  if (!(share > 0 && share < 1)) throw new InvalidArgumentError('It is a number between 0 and 1, such as 0.95.')
  return share
}

const countOf =
  (least: number) =>
  (text: string): number => {
    const count = /^\d{1,4}$/.test(text.trim()) ? Number(text) : Number.NaN
    if (!(count >= least)) throw new InvalidArgumentError(`It is a whole number, at least ${least}.`)
    return count
  }

export function addPropose(program: Command, io: Io, finish: (code: ExitCode) => void): void {
  program
    .command('propose')
    .description(
      'Propose steps and bands for a profile: the highest steps, and the fewest bands, that hold everywhere.',
    )
    .argument('<profile>', 'the name of the profile')
    .argument('[paths...]', 'files, or folders with all .detent files below them (default: this folder)')
    .addOption(
      new Option('--weight <load=number>', 'how much a load counts; may be repeated')
        .argParser(weightAlso)
        .default(nothingAsked.weights, 'each load 1'),
    )
    .addOption(
      new Option('--margin <power>', 'what must be left to the die limit').argParser(quantityOf('power', '35 W')),
    )
    .addOption(
      new Option('--die <temperature>', 'what the die stays at or below').argParser(quantityOf('temperature', '82 °C')),
    )
    .addOption(new Option('--stable <proof>', 'at the voltages that trials ask for: P % for TIME').argParser(stableOf))
    .addOption(
      new Option('--probability <share>', 'how probable each case must be, over the ± of constants').argParser(shareOf),
    )
    .addOption(new Option('--rows <count>', 'at most so many rows of steps').argParser(countOf(1)))
    .addOption(
      new Option('--bands <count>', 'at most so many rows of bands over any core count; 0: none')
        .argParser(countOf(0))
        .default(nothingAsked.bands),
    )
    .addOption(
      new Option('--yield <load>', 'a load under which bands may give back everywhere; may be repeated')
        .argParser(also)
        .default([], 'none'),
    )
    .addOption(standInOption())
    .option('--write', 'put steps and bands into the profile')
    .addOption(new Option('--output <format>', 'output format').choices(['text', 'json']).default('text'))
    .addOption(allowOutsideOption())
    .addHelpText('after', examples)
    .action(async (name: string, paths: string[], call: ProposeCall) => {
      if (call.write === true && call.with.texts.length > 0)
        throw new UnusableCall('--write and --with cannot be combined: what is overlaid is written nowhere.')
      const loaded = await loadAsked(io, paths, call, 'with runs')
      layOverAsked(loaded, call.with, [{ name, revision: undefined }])
      const own = profileNamed(loaded, name)
      const evaluation = evaluationOf(own, call.with)
      const { service, uri, file } = own
      // Runs are read only where they can decide: their logs may be large.
      const doRunsCount = call.stable !== undefined || asksOfTrials(evaluation) || service.bench.hasStopped()
      if (doRunsCount) await readLogs(service, io, loaded.files)
      const { workspace, bench } = service
      const document = workspace.document(uri)
      const view = workspace.view(uri)
      if (document === undefined || view === undefined) throw new UnusableCall(`There is no profile ${name} here.`)
      const evidence = doRunsCount ? bench.evidence(evaluation.profile.part) : undefined
      const options: ProposeOptions = {
        weights: call.weight,
        yields: new Set(call.yield),
        marginW: call.margin,
        dieC: call.die,
        stable: call.stable,
        probability: call.probability,
        rows: call.rows,
        bands: call.bands,
      }
      const obstacle = noProposalText(evaluation, options, evidence)
      if (obstacle !== undefined) throw new UnusableCall(`Nothing can be proposed for ${name}, because ${obstacle}.`)
      const unwritable = call.write === true ? unwritableText(evaluation.profile) : undefined
      if (unwritable !== undefined) throw new UnusableCall(`Nothing is written into profile ${name}: ${unwritable}.`)
      const allowed = acceptedCodes(view, evaluation.profile)
      const proposal = finishedInSight(
        io,
        `${name}: looking for steps and bands`,
        proposeInSlices(evaluation, options, evidence, allowed),
      )
      if (call.output === 'text') for (const line of asIfLines(call.with)) io.out.write(`${line}\n`)
      const placed = { file, line: own.line, evaluation, proposal, service }
      io.out.write(call.output === 'json' ? proposeJson(placed, io) : proposeText(placed, io))
      const { plan, unmet } = proposal
      if (call.write === true && plan.kind === 'plan') {
        const edits = planEdits(document, evaluation.profile, plan)
        if (edits.length === 0) io.err.write('Nothing to change.\n')
        else if ((await writeEdits(service, io, uri, edits)) !== undefined)
          io.err.write(`${file}: steps and bands of ${name} written\n`)
      }
      finish(plan.kind === 'none' || unmet.length > 0 ? 1 : 0)
    })
}
