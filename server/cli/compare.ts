/** `detent compare`. */

import { type Command, Option } from 'commander'
import type { AtRevision } from '../features/compare/run-sides.ts'
import type { Side } from '../features/compare/types.ts'
import { compareMarkdown, compareProfiles, runsOfSide, wording } from '../service.ts'
import { allowOutsideOption, type ReachOptions } from './files.ts'
import { makeRunsInSight } from './follow-course.ts'
import { type ExitCode, type Io, UnusableCall } from './io.ts'
import {
  type AskedProfile,
  evaluationOf,
  type Loaded,
  layOverAsked,
  loadAsked,
  type NamedProfile,
  namesAndPaths,
  profileAtRevision,
  profileNamed,
} from './named-profiles.ts'
import { compareJson } from './output/compare-json.ts'
import { compareText } from './output/compare-text.ts'
import { compareSince } from './since.ts'
import { type AsIf, asIfLines, standInOption } from './stand-ins.ts'

const examples = `
The others are compared with the first profile. NAME@REVISION is the profile as it was in git. The first two arguments
are profiles; further ones are profiles up to the first file or folder.

Predicted figures are the worst of the room's corners; JSON has every corner, as predict gives it. Scores come from
the runs of each profile: a run that names a \`revision\` counts for the side whose values it was made with. The 95 %
interval has every ratio of the means that Student's t test does not reject: Welch's; where both were run on the same two
or more days, equally often on each, the scores are compared day by day, in the order of time (the test for pairs).
Exit code 1: a profile has no prediction; with \`--fail-on worse\`, an expectation that held no longer does, or an error
is new.

With \`--since\` the bench is compared with itself as it was: at a git revision, or in a folder (what begins with \`.\` or
\`/\`). Shown are the profiles whose predictions, expectations or findings differ, constants of the bench included;
named profiles choose among them. Neither side reads logs.

JSON with \`--since\`: version, since, profiles (file, profile, change, settings, predicted, expectations, findings);
predicted has pairs of before and now, on a part with groups also groups (group, cores, clock_mhz); change is new, gone
or changed.

JSON: version, profiles, predicted (file, and the keys of predict), expectations (text, values in the order of the
profiles: holds, predicted, unit, undecided), scores (load, unit, better, profile, n, mean, sd, gain_pct, interval_pct, p,
method, verdict), settings (key, values in the order of the profiles). Methods: none, welch or paired; verdict is
baseline, better, worse, not-shown or too-few.

Examples:
  detent compare winter summer                         side by side: predicted, measured, set
  detent compare winter@HEAD~3 winter                  before and after
  detent compare --with room=study winter summer       both in one room
  detent compare --output json winter summer bench/    for scripts
  detent compare --since HEAD~3 bench/                 what the last three commits did to every profile
  detent compare --since v1 --output markdown          the same for a review
`

interface CompareOptions extends ReachOptions {
  readonly output: string
  readonly with: AsIf
  readonly all?: true
  readonly since?: string
  readonly failOn?: string
}

/** The profile as it is now, where it still is. */
function presentOf(loaded: Loaded, name: string): NamedProfile | undefined {
  try {
    return profileNamed(loaded, name)
  } catch (error) {
    if (error instanceof UnusableCall) return undefined
    throw error
  }
}

/** The profile at revisions that its runs name. */
function atRevision(loaded: Loaded, name: string): AtRevision {
  return async revision => {
    try {
      return await profileAtRevision(loaded, name, revision)
    } catch (error) {
      if (error instanceof UnusableCall) return undefined
      throw error
    }
  }
}

/** What says nothing beside `--since`. */
function refuseBesideSince(profiles: readonly AskedProfile[], options: CompareOptions): void {
  const older = profiles.find(({ revision }) => revision !== undefined)
  if (older !== undefined) {
    throw new UnusableCall(`\`--since\` names the revision: write ${older.name}, without \`@${older.revision}\`.`)
  }
  if (options.all !== undefined) throw new UnusableCall('`--all` does not go with `--since`.')
}

/** `detent compare`: profiles side by side. */
export function addCompare(program: Command, io: Io, finish: (code: ExitCode) => void): void {
  program
    .command('compare')
    .description('Show profiles side by side: what is predicted, what was measured, what they set.')
    .argument('[profiles-and-paths...]', 'two profiles or more, then files or folders (default: this folder)')
    .addOption(new Option('--output <format>', 'output format').choices(['text', 'markdown', 'json']).default('text'))
    .option('--since <revision>', 'compare the bench with what it was at a git revision, or in a folder')
    .addOption(new Option('--fail-on <change>', 'with --since: what makes the exit code 1').choices(['worse']))
    .addOption(standInOption())
    .option('--all', 'also list the settings that are the same')
    .addOption(allowOutsideOption())
    .addHelpText('after', examples)
    .action(async (args: string[], options: CompareOptions) => {
      if (options.since !== undefined) {
        const { profiles, paths } = namesAndPaths(io, args, 0)
        refuseBesideSince(profiles, options)
        finish(await compareSince(io, profiles, paths, { ...options, since: options.since }))
        return
      }
      if (options.failOn !== undefined) throw new UnusableCall('`--fail-on` goes with `--since`.')
      const { profiles, paths } = namesAndPaths(io, args, 2)
      if (profiles.length < 2) throw new UnusableCall('Name at least two profiles; files and folders come after them.')
      const loaded = await loadAsked(io, paths, options)
      layOverAsked(loaded, options.with, profiles)
      const sides: Side[] = []
      const notes: string[] = [...asIfLines(options.with)]
      for (const { name, revision } of profiles) {
        const side =
          revision === undefined ? profileNamed(loaded, name) : await profileAtRevision(loaded, name, revision)
        if (sides.some(({ label }) => label === side.label)) throw new UnusableCall(`${side.label} is named twice.`)
        const { runs, notes: own } = await runsOfSide(presentOf(loaded, name), side, atRevision(loaded, name))
        const evaluation = evaluationOf(side, options.with)
        side.service.expectations(evaluation)
        makeRunsInSight(io, side.service)
        const expectations = side.service.expectations(evaluation)
        sides.push({ label: side.label, file: side.file, evaluation, expectations, runs })
        notes.push(...own)
      }
      const comparison = compareProfiles(sides, notes)
      const show = options.all === undefined ? 'different' : 'all'
      if (options.output === 'json') {
        io.out.write(compareJson(comparison, show))
        for (const note of comparison.notes) io.err.write(`${note}\n`)
      } else if (options.output === 'markdown') io.out.write(compareMarkdown(comparison, show))
      else io.out.write(compareText(comparison, show, io))
      const obstacles = sides.flatMap(({ label, evaluation }) => {
        const why = wording.obstacleText(evaluation)
        return why === undefined ? [] : [`${label} is not predicted: ${why}.\n`]
      })
      for (const obstacle of obstacles) io.err.write(obstacle)
      finish(obstacles.length > 0 ? 1 : 0)
    })
}
