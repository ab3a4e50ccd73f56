/** `detent sheet`. */

import { type Command, Option } from 'commander'
import { profileIn, sheetFor, sheetHtml, sheetMarkdown } from '../service.ts'
import { allowOutsideOption, type ReachOptions } from './files.ts'
import { type ExitCode, type Io, UnusableCall } from './io.ts'
import { loadAsked, type NamedProfile, profileAtRevision, profileNamed } from './named-profiles.ts'
import { type PlacedSheet, sheetJson } from './output/sheet-json.ts'
import { sheetText } from './output/sheet-text.ts'

const examples = `
Order and labels are those of the board's \`menu { … }\`: page, then field. What it does not cover comes last.
Core voltages are rounded to the board's grid, ratios to the part's, and each rounding is shown. One voltage is entered
for each ratio that steps, bands and vector loads lead to, or one for all where the profile fixes it.
Exit code 1: the profile has an error, or part of it cannot be worked out; the sheet says what.

JSON: version, file, profile, part, cooler, room, board, from; entries (number, covered, page, field, setting, row,
asked, enter, asked_value, enter_value, unit, rounding, notes, before); unchanged, gone (setting, row, before, page,
field), left_out (text, why), untouched (setting, page, field), facts (name, text), cautions, errors, incomplete.

Examples:
  detent sheet winter                                  everything to enter, for a terminal
  detent sheet winter --from summer                    only what differs from another profile
  detent sheet winter --from-git HEAD~3                only what has changed since a revision
  detent sheet winter --output html > winter.html      a page to print and tick off
`

const outputs: Readonly<Record<string, (placed: PlacedSheet, io: Io) => string>> = {
  text: sheetText,
  markdown: ({ sheet }) => sheetMarkdown(sheet),
  html: ({ sheet }) => sheetHtml(sheet),
  json: sheetJson,
}

interface SheetCall extends ReachOptions {
  readonly output: string
  readonly from?: string
  readonly fromGit?: string
}

/** `detent sheet`: what to enter into the firmware, in the order of its menus. */
export function addSheet(program: Command, io: Io, finish: (code: ExitCode) => void): void {
  program
    .command('sheet')
    .description('List the values of a profile to enter into the firmware, in the order of its menus.')
    .argument('<profile>', 'the name of the profile')
    .argument('[paths...]', 'files, or folders with all .detent files below them (default: this folder)')
    .addOption(new Option('--output <format>', 'output format').choices(Object.keys(outputs)).default('text'))
    .option('--from <profile>', 'only what differs from this profile')
    .addOption(
      new Option('--from-git <revision>', 'only what differs from the profile at this git revision').conflicts('from'),
    )
    .addOption(allowOutsideOption())
    .addHelpText('after', examples)
    .action(async (name: string, paths: string[], call: SheetCall) => {
      const loaded = await loadAsked(io, paths, call)
      const own = profileNamed(loaded, name)
      let other: NamedProfile | undefined
      if (call.from !== undefined) other = profileNamed(loaded, call.from)
      if (call.fromGit !== undefined) other = await profileAtRevision(loaded, name, call.fromGit)
      const profile = other && profileIn(other.service.workspace, other.uri, other.name)
      const from = other === undefined || profile === undefined ? undefined : { label: other.label, profile }
      const sheet = sheetFor(own.service.workspace, own.uri, name, {
        evidence: own.service.bench.evidence,
        ...(from === undefined ? {} : { from }),
      })
      if (sheet === undefined) throw new UnusableCall(`There is no profile ${name} here`)
      io.out.write((outputs[call.output] ?? sheetText)({ file: own.file, line: own.line, sheet }, io))
      finish(sheet.errors.length > 0 || sheet.incomplete.length > 0 ? 1 : 0)
    })
}
