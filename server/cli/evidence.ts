/** `detent evidence`: what trials show of a part's voltages. */
import { existsSync } from 'node:fs'
import { resolve } from 'node:path'
import { type Command, Option } from 'commander'
import {
  didYouMean,
  evidenceMarkdown,
  ledgerEdits,
  type NextTrials,
  nextTrials,
  type PartLedger,
  partLedgers,
  type Service,
} from '../service.ts'
import { pathOfUri } from '../workspace/node-files.ts'
import {
  type AskedFile,
  allowOutsideOption,
  askedFiles,
  loadFiles,
  type ReachOptions,
  serviceFor,
  shownPath,
} from './files.ts'
import { type ExitCode, type Io, UnusableCall } from './io.ts'
import { linesOf } from './lines.ts'
import { readLogs } from './logs.ts'
import { evidenceJson, evidenceText } from './output/evidence-output.ts'
import { writeEdits } from './write-edits.ts'

const examples = `
Trials are the runs that say \`held 1 h\` or \`stopped after 12 min "hang"\`, and the \`known\` rows with a voltage (held for
10 min). All of them together say what each ratio takes, with its uncertainty, and with which probability the stated row
is enough: by an exponential survival model whose rate is log-linear in the voltage, and a prior of the stated row ± 25 mV
(engineering judgement, no source). A stop with the die at its limit, or whose words name the cooler, the mains or a
person, is no trial. What enough means is the part's \`proof\`, 95 % for 1 h where it says nothing.

Words, the first that fits: proven, contradicted, untested, unclear, likely, doubtful.
--write puts what the trials show in the place of the rows that they tell something of, each with its ±. The rows are then
what is stated, beside which the same trials count again: write once, and again after new trials.
Exit code 1: a row is contradicted, or nothing was tried.

JSON: version, part, sharpness_v, rows (ratio, stated_v, v95_v, standard_uncertainty_v, probability, held_s, held_v,
stops, word), next (as in \`detent next\`). On a part with groups of cores each row has group and its sharpness_v.

Examples:
  detent evidence                          every part that something was tried of
  detent evidence sample-b7 bench/         one part
  detent evidence sample-b7 --write        its rows as the trials have them
`

interface EvidenceOptions extends ReachOptions {
  readonly output: string
  readonly write?: true
}

const nameForm = /^[a-z][a-z0-9]*(?:-[a-z0-9]+)*$/

/** The parts that were asked for; without a name those that something was tried of. Errors: `UnusableCall`. */
function chosen(all: readonly PartLedger[], name: string | undefined): readonly PartLedger[] {
  const named = name === undefined ? all : all.filter(({ part }) => part.name === name)
  if (named.length === 0 && name !== undefined) {
    const names = all.map(({ part }) => part.name)
    const meant = didYouMean(name, names)[0]
    const others = names.length === 0 ? '' : `; there ${names.length === 1 ? 'is' : 'are'} ${names.join(', ')}`
    throw new UnusableCall(
      `There is no part ${name} here${meant === undefined ? `${others}.` : `; did you mean ${meant}?`}`,
    )
  }
  if (named.length === 0) throw new UnusableCall('There is no part here.')
  const tried = named.filter(({ evidence }) => evidence !== undefined)
  return tried.length > 0 ? tried : named
}

function placeOf(io: Io, service: Service, { uri, part }: PartLedger): string {
  const document = service.workspace.document(uri)
  const offset = (document?.starts.get(part.chunk) ?? 0) + part.nameSpan.start
  return `${shownPath(io, pathOfUri(uri) ?? uri)}:${linesOf(document?.source.text ?? '').at(offset).line}`
}

/** Proposals for each profile of the files that uses the part. */
function nextOf(service: Service, files: readonly AskedFile[], { part, evidence }: PartLedger): readonly NextTrials[] {
  const taken = new Set<string>()
  const evaluations = files
    .flatMap(({ uri }) => service.evaluations(uri))
    .filter(({ profile }) => profile.part === part)
  return evaluations.flatMap(evaluation => nextTrials(evaluation, evidence, 1, taken) ?? [])
}

async function write(service: Service, io: Io, ledger: PartLedger): Promise<void> {
  const edits = ledgerEdits(service.workspace, ledger)
  const rows = `${edits.length} row${edits.length === 1 ? '' : 's'} of needs`
  if (edits.length === 0) io.err.write(`${ledger.part.name}: nothing to change.\n`)
  else io.err.write(`${await writeEdits(service, io, ledger.uri, edits)}: ${rows} written\n`)
}

export function addEvidence(program: Command, io: Io, finish: (code: ExitCode) => void): void {
  program
    .command('evidence')
    .description('Show what trials tell about the voltages of a part: what each ratio takes, and how sure its row is.')
    .argument('[part-and-paths...]', 'a part, then files or folders (default: what is in this folder)')
    .option('--write', 'write the rows of `needs` as the trials have them')
    .addOption(new Option('--output <format>', 'output format').choices(['text', 'markdown', 'json']).default('text'))
    .addOption(allowOutsideOption())
    .addHelpText('after', examples)
    .action(async (args: string[], options: EvidenceOptions) => {
      const [first] = args
      const isName = first !== undefined && nameForm.test(first) && !existsSync(resolve(io.folder, first))
      const asked = await askedFiles(io, isName ? args.slice(1) : args, options)
      const service = serviceFor(asked, 'with runs')
      const files = await loadFiles(io, service, asked)
      await readLogs(service, io, files)
      const all = partLedgers(
        service.workspace,
        service.bench,
        files.map(({ uri }) => uri),
      )
      const ledgers = chosen(all, isName ? first : undefined)
      const [only, ...others] = ledgers
      if (options.output === 'json') {
        const names = ledgers.map(({ part }) => part.name).join(', ')
        if (only === undefined || others.length > 0)
          throw new UnusableCall(`JSON is of one part; there are ${names}: name one.`)
        io.out.write(evidenceJson(only, nextOf(service, files, only)))
      } else {
        const shown = ledgers.map(one =>
          options.output === 'markdown' ? evidenceMarkdown(one) : evidenceText(one, placeOf(io, service, one), io),
        )
        io.out.write(shown.join('\n'))
      }
      if (options.write === true) for (const one of ledgers) await write(service, io, one)
      const isContradicted = ledgers.some(({ evidence }) =>
        [...(evidence?.groups?.values() ?? (evidence === undefined ? [] : [evidence]))].some(own =>
          own.ledger.rows.some(({ word }) => word === 'contradicted'),
        ),
      )
      finish(isContradicted || ledgers.every(({ evidence }) => evidence === undefined) ? 1 : 0)
    })
}
