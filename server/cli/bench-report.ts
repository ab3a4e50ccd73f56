/** `detent report`. */

import { resolve } from 'node:path'
import { type Command, Option } from 'commander'
import { finished, makeReport, reportMarkdown, reportPage, reportProfiles } from '../service.ts'
import { reasonOf } from '../workspace/node-files.ts'
import { writeWhole } from '../workspace/writer.ts'
import { allowOutsideOption, askedFiles, loadFiles, type ReachOptions, serviceFor } from './files.ts'
import { makeRunsInSight } from './follow-course.ts'
import { inputsOf } from './inputs.ts'
import { type ExitCode, type Io, UnusableCall } from './io.ts'
import { askForCourses, readLogs } from './logs.ts'
import { type AsIf, asIfLines, layStatements, standInOption } from './stand-ins.ts'

const examples = `
The page is self-contained: it can be read offline, printed and sent on. Charts come first; their
figures are in tables behind them.

Examples:
  detent report bench/ --to report.html                   every profile below a folder, with its runs
  detent report bench/ --profile winter --to winter.html  one profile
  detent report bench/ --baseline light-work --to r.html  the others compared with one
  detent report --with 'room study { air 29 °C }' bench/  the same in a warmer room
  detent report bench/ --output markdown                  for a wiki
`

interface ReportOptions extends ReachOptions {
  readonly output: string
  readonly profile: readonly string[]
  readonly baseline?: string
  readonly to?: string
  readonly with: AsIf
}

const collect = (name: string, before: readonly string[]): readonly string[] => [...before, name]

/** `detent report`: one page of a bench. */
export function addReport(program: Command, io: Io, finish: (code: ExitCode) => void): void {
  program
    .command('report')
    .description('Write one page about a bench: settings, predictions, charts over time, runs, comparison.')
    .argument('[paths...]', 'files, or folders with all .detent files below them (default: this folder)')
    .addOption(new Option('--output <format>', 'what to write').choices(['html', 'markdown']).default('html'))
    .addOption(
      new Option('--profile <name>', 'only this profile; may be repeated').argParser(collect).default([], 'all'),
    )
    .option('--baseline <name>', 'the profile that the others are compared with')
    .option('--to <file>', 'the file to write; without it the page goes to standard output')
    .addOption(standInOption())
    .addOption(allowOutsideOption())
    .addHelpText('after', examples)
    .action(async (paths: string[], options: ReportOptions) => {
      const asked = await askedFiles(io, paths, options)
      const service = serviceFor(asked, 'with runs')
      const files = await loadFiles(io, service, asked)
      layStatements(service, options.with, files)
      await readLogs(service, io, files)
      const all = reportProfiles(service, files)
      const names = new Set(all.map(({ evaluation }) => evaluation.profile.definition.name))
      const { profile: profiles, baseline } = options
      const unknown = [...profiles, ...(baseline === undefined ? [] : [baseline])].find(name => !names.has(name))
      if (names.size === 0) throw new UnusableCall('There is no profile here to report on.')
      if (unknown !== undefined)
        throw new UnusableCall(`There is no profile ${unknown} here; there are ${[...names].join(', ')}.`)
      for (const { evaluation } of all) service.expectations(evaluation)
      askForCourses(
        service,
        files.map(({ uri }) => uri),
      )
      makeRunsInSight(io, service)
      const making = makeReport(service, {
        files,
        profiles,
        asIf: asIfLines(options.with),
        ...(baseline === undefined ? {} : { baseline }),
      })
      const blocks = finished(making)
      const page = options.output === 'html' ? await reportPage('Bench report', blocks) : reportMarkdown(blocks)
      if (options.to === undefined) io.out.write(page)
      else {
        try {
          await writeWhole(resolve(io.folder, options.to), page, { inputs: inputsOf(service) })
        } catch (error) {
          throw new UnusableCall(`${options.to}: not written: ${reasonOf(error)}`)
        }
        io.err.write(`${options.to} written\n`)
      }
      finish(0)
    })
}
