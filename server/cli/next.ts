/** `detent next`: which trial tells most of a profile's voltages. */
import { type Command, InvalidArgumentError, Option } from 'commander'
import { nextTrials, noTrialText } from '../service.ts'
import { allowOutsideOption, type ReachOptions } from './files.ts'
import { type ExitCode, type Io, UnusableCall } from './io.ts'
import { readLogs } from './logs.ts'
import { evaluationOf, loadAsked, profileNamed } from './named-profiles.ts'
import { nextJson, nextText } from './output/next-output.ts'
import { asItStands } from './stand-ins.ts'

const examples = `
Candidates are the ratios of the profile's steps and one above, under each of its loads, with voltages of the board's grid
from 60 mV below to 30 mV above what the ratio is taken to need, for 10, 20, 40 or 60 min; none beyond the part's
core-voltage, none where a limit would give ratio back. The best narrow the voltages of the steps most for each minute at
the bench (5 min to set up, the run, 10 min after a stop): value is the expected rise of their summed precision (1/±²), up to
that of ± 7 mV, which is known well enough. One proposal a ratio, at most three.
--risk leaves out what stops with a larger chance; it takes longer to learn as much.
Each proposal is also a \`run\` block: paste it, and fill in how it ended. Until then it counts as nothing.
Exit code 1: nothing can be proposed.

JSON: version, file, profile, part, rows (ratio, v95_v, standard_uncertainty_v, word), next (profile, load, cores, ratio,
set_v, voltage_v, die_c, for_s, stop_probability, gain_per_min, now_v, after_hold_v, after_stop_v, if_held and if_stopped
(v95_v, standard_uncertainty_v), run). On a part with groups of cores rows and next have group, and ratio and cores are its own.

Examples:
  detent next winter                      what to run tonight
  detent next winter --risk 30%           nothing that stops with more than 30 %
  detent next winter --output json bench/
`

interface NextCall extends ReachOptions {
  readonly output: string
  readonly risk: number
}

function shareOf(text: string): number {
  const percent = Number(/^(\d+(?:\.\d+)?)\s*%?$/.exec(text.trim())?.[1])
  if (!(percent > 0 && percent <= 100)) throw new InvalidArgumentError('It is a percentage, such as 30 %.')
  return percent / 100
}

export function addNext(program: Command, io: Io, finish: (code: ExitCode) => void): void {
  program
    .command('next')
    .description('Propose what to run next, so that the voltages of a profile are known sooner.')
    .argument('<profile>', 'the name of the profile')
    .argument('[paths...]', 'files, or folders with all .detent files below them (default: this folder)')
    .addOption(
      new Option('--risk <percent>', 'the largest chance of a stop').argParser(shareOf).default(1, 'any chance'),
    )
    .addOption(new Option('--output <format>', 'output format').choices(['text', 'json']).default('text'))
    .addOption(allowOutsideOption())
    .addHelpText('after', examples)
    .action(async (name: string, paths: string[], call: NextCall) => {
      const loaded = await loadAsked(io, paths, call, 'with runs')
      await readLogs(loaded.service, io, loaded.files)
      const own = profileNamed(loaded, name)
      const evaluation = evaluationOf(own, asItStands)
      const { service, file, line } = own
      const taken = [...service.workspace.documents()].flatMap(({ definitions }) =>
        definitions.filter(({ kind }) => kind === 'run').map(run => run.name),
      )
      const next = nextTrials(evaluation, service.bench.evidence(evaluation.profile.part), call.risk, new Set(taken))
      if (next === undefined)
        throw new UnusableCall(`Nothing can be proposed for ${name}, because ${noTrialText(evaluation)}.`)
      io.out.write(call.output === 'json' ? nextJson(next, file) : nextText(next, `${file}:${line}`, io))
      finish(next.proposals.length === 0 ? 1 : 0)
    })
}
