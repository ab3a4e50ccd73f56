/** `detent fit`. */

import { type Command, Option } from 'commander'
import { baseUnit, type RunsFit, type Service } from '../service.ts'
import { type AskedFile, allowOutsideOption, askedFiles, loadFiles, type ReachOptions, serviceFor } from './files.ts'
import { type ExitCode, type Io, UnusableCall } from './io.ts'
import { readLogs } from './logs.ts'
import { fitJson, fitText } from './output/fit-output.ts'
import { removeWritten, writeEdits } from './write-edits.ts'

const examples = `
A fit uses everything measured on a part: whole logs, settled or not, figures read off by hand, and the rows of known.
Each constant starts from what is stated, with its ±, or from its usual value and spread. A constant that the runs do not
determine keeps that, and the output says so. Without --write nothing is changed; with it the constants are written with their uncertainties,
and PART.fitted.detent beside the part's file gets what was known before the runs, the runs, and the correlations. The
next fit starts from there, so no run counts twice.

Constants: of the part switching, leakage, leakage-doubling, leakage-exponent, shared-power, idle-power,
package-resistance, core-resistance, die-heat, and needs-slope from how runs ended; of its coolers block-resistance, the
rows of the radiator ("radiator 20 %"; "block-resistance of NAME" where there are several coolers), plate-heat,
coolant-heat, and of a driven plate "module seebeck", "module resistance", "module conductance", plate-leak and leads.
On a part with groups of cores each group has its own: "switching of GROUP", "leakage of GROUP",
"core-resistance of GROUP".
A run with a \`revision\` counts with what its profile set then.

Examples:
  detent fit --write first.detent
  detent fit runs.detent
  detent fit runs.detent --free switching,leakage --runs heavy-render,heavy-compile
  detent fit runs.detent --hold leakage-exponent --write
`

interface FitOptions extends ReachOptions {
  readonly part?: string
  readonly free?: string
  readonly hold?: string
  readonly runs?: string
  readonly write?: true
  readonly output: string
}

const listOf = (text: string | undefined): string[] | undefined =>
  text
    ?.split(',')
    .map(one => one.trim())
    .filter(one => one !== '')

/** The runs that were asked for. Errors: `UnusableCall` where one is not there. */
function chosenRuns(service: Service, file: AskedFile, names: readonly string[] | undefined) {
  const all = service.bench.seen(file.uri)
  const unknown = names?.find(name => !all.some(({ record }) => record.name === name))
  if (unknown !== undefined) throw new UnusableCall(`There is no run ${unknown} in ${file.shown} or the files it uses.`)
  return names === undefined ? all : all.filter(({ record }) => names.includes(record.name))
}

/** The part that a file sees, where it is one. Errors: `UnusableCall` where there is none, or several. */
function onlyPart(service: Service, file: AskedFile): string {
  const documents = service.workspace.view(file.uri)?.documents ?? []
  const names = documents.flatMap(({ definitions }) =>
    definitions.filter(({ kind }) => kind === 'part').map(({ name }) => name),
  )
  const [only, ...others] = new Set(names)
  if (only === undefined) throw new UnusableCall(`There is no part in ${file.shown} or the files it uses.`)
  if (others.length > 0) {
    throw new UnusableCall(
      `${file.shown} and the files it uses have several parts, ${[only, ...others].join(', ')}: name one with --part.`,
    )
  }
  return only
}

/** What `--free` and `--hold` may name. Errors: `UnusableCall` where one names nothing, or something that there is not. */
function checkNames(option: '--free' | '--hold', free: readonly string[], { fittable, coolers }: RunsFit): void {
  if (free.length === 0) throw new UnusableCall(`${option} names no constant: separate the names by commas.`)
  const names = [...coolers.keys()]
  const isThere = (name: string): boolean =>
    fittable.includes(name) || (names.length === 1 && fittable.includes(name.replace(/ of [^ ]+$/, '')))
  const odd = free.find(name => !isThere(name))
  if (odd === undefined) return
  const meant = fittable.filter(name => name.startsWith(`${odd} of `))
  if (meant.length > 0) {
    const ofCoolers = meant.every(one => names.some(name => one.endsWith(` of ${name}`)))
    const why = ofCoolers ? 'The runs have several coolers' : 'The part has groups of cores'
    throw new UnusableCall(`${why}: for ${odd} say ${meant.map(one => `"${one}"`).join(' or ')}.`)
  }
  throw new UnusableCall(`There is no constant ${odd} to fit; there are ${fittable.join(', ')}.`)
}

const counted = (count: number, word: string): string => `${count} ${word}${count === 1 ? '' : 's'}`

/** Writes the changed constants into their files, each whole or not at all. */
async function write(service: Service, io: Io, file: AskedFile, fit: RunsFit): Promise<void> {
  await service.bench.loadCompanion(fit.part)
  // What is new comes first, since the others use it, and goes again where one of them is not written.
  const files = service.bench.edits(file.uri, fit).toSorted((a, b) => Number(b.isNew) - Number(a.isNew))
  const made: string[] = []
  const told: string[] = []
  if (files.length === 0) io.err.write('Nothing to change: the values contain these runs already.\n')
  try {
    for (const { uri, edits, isNew } of files) {
      const shown = await writeEdits(service, io, uri, edits, isNew)
      if (shown === undefined) continue
      if (isNew) made.push(uri)
      const sum = (of: 'constants' | 'correlations'): number => edits.reduce((total, edit) => total + edit[of], 0)
      const [constants, correlations] = [sum('constants'), sum('correlations')]
      const what = [
        ...(constants > 0 ? [counted(constants, 'constant')] : []),
        ...(correlations > 0 ? [counted(correlations, 'correlation')] : []),
      ]
      const guesses = edits.flatMap(({ guess }) =>
        guess === undefined ? [] : [`${shown}: the comment still calls ${guess.label} a guess: "${guess.comment}"\n`],
      )
      told.push(`${shown}: ${what.length === 0 ? '' : `${what.join(' and ')} `}written\n`, ...guesses)
    }
  } catch (error) {
    for (const uri of made) await removeWritten(uri)
    io.err.write(told.slice(made.length).join(''))
    throw error
  }
  io.err.write(told.join(''))
  if (files.length > 0)
    io.err.write(`${fit.part.name}.fitted.detent has what was known before, so the next fit counts no run twice.\n`)
}

/** `detent fit`: refits the constants of a part, and of its coolers, from runs. */
export function addFit(program: Command, io: Io, finish: (code: ExitCode) => void): void {
  program
    .command('fit')
    .description('Fit the constants of a part to what was seen of it: known points and runs.')
    .argument('<file>', 'the file with the part or its runs, or one that uses it')
    .option('--part <name>', 'the part to fit (default: the only one in the file and those it uses)')
    .option('--free <names>', 'fit only these constants, separated by commas (default: all)')
    .option('--hold <names>', 'leave these constants as they are stated')
    .option('--runs <names>', 'the runs to fit to, separated by commas (default: all of this part)')
    .option('--write', 'write the fitted constants into their files')
    .addOption(new Option('--output <format>', 'output format').choices(['text', 'json']).default('text'))
    .addOption(allowOutsideOption())
    .addHelpText('after', examples)
    .action(async (path: string, options: FitOptions) => {
      const asked = await askedFiles(io, [path], options)
      const [file, ...more] = asked.files
      if (file === undefined || more.length > 0) throw new UnusableCall(`${path}: a fit takes one file.`)
      const service = serviceFor(asked, 'with runs')
      await loadFiles(io, service, asked)
      await readLogs(service, io, [file])
      const runs = chosenRuns(service, file, listOf(options.runs))
      const free = listOf(options.free)
      const part = options.part ?? onlyPart(service, file)
      const hold = listOf(options.hold)
      const fit = service.bench.fit(file.uri, part, runs, { ...(free && { free }), ...(hold && { hold }) })
      if (fit === undefined) throw new UnusableCall(`There is no part ${part} in ${file.shown} or the files it uses.`)
      if (free !== undefined) checkNames('--free', free, fit)
      if (hold !== undefined) checkNames('--hold', hold, fit)
      io.out.write(options.output === 'json' ? fitJson(fit, dimension => baseUnit[dimension]) : fitText(fit, io))
      const { result, needsSlopes } = fit
      const isFitted = 'constants' in result && result.constants.length > 0
      const isAny = isFitted || needsSlopes.some(({ known }) => known)
      if (options.write === true && isAny) await write(service, io, file, fit)
      finish(isAny ? 0 : 1)
    })
}
