/** `detent glance`. */

import type { Command } from 'commander'
import { allFiguresOf } from '../service.ts'
import { pathOfUri } from '../workspace/node-files.ts'
import { reporter } from './check-results.ts'
import { allowOutsideOption, askedFiles, loadFiles, type ReachOptions, serviceFor, shownPath } from './files.ts'
import { makeRunsInSight } from './follow-course.ts'
import type { ExitCode, Io } from './io.ts'
import { readLogs } from './logs.ts'
import { glanceText } from './output/glance-text.ts'

const examples = `
One screen: how many files and profiles were checked, the three findings most worth knowing, each profile under the load
that leaves the least margin, and where to go on.

Examples:
  detent glance            the bench in this folder
  detent glance bench/     another one
`

/** `detent glance`: a first look at a bench. */
export function addGlance(program: Command, io: Io, finish: (code: ExitCode) => void): void {
  program
    .command('glance')
    .description('Take a first look at a bench, in one screen.')
    .argument('[paths...]', 'files, or folders with all .detent files below them (default: this folder)')
    .addOption(allowOutsideOption())
    .addHelpText('after', examples)
    .action(async (paths: string[], options: ReachOptions) => {
      const asked = await askedFiles(io, paths, options)
      const service = serviceFor(asked, 'with runs')
      const files = await loadFiles(io, service, asked)
      await readLogs(service, io, files)
      const evaluations = files.flatMap(({ uri }) => service.evaluations(uri))
      for (const evaluation of evaluations) service.expectations(evaluation)
      makeRunsInSight(io, service)
      const made = reporter(service, files, {}, uri => shownPath(io, pathOfUri(uri) ?? uri))
      files.forEach(made.add)
      const report = made.report()
      const runs = files.reduce((sum, { uri }) => sum + service.bench.compared(uri).length, 0)
      const profiles = evaluations.map(evaluation => ({
        name: evaluation.profile.definition.name,
        rows: allFiguresOf(evaluation),
      }))
      io.out.write(glanceText({ report, profiles, runs, paths }, io))
      finish(report.findings.some(({ severity }) => severity === 'error') ? 1 : 0)
    })
}
