import { type Command, Option } from 'commander'
import { allFiguresOf, createService } from '../service.ts'
import { nodeFiles } from '../workspace/node-files.ts'
import { askedFiles, loadFiles } from './files.ts'
import type { ExitCode, Io } from './io.ts'
import { linesOf } from './lines.ts'
import { obstaclesOf } from './obstacles.ts'
import { predictJson } from './output/predict-json.ts'
import { predictText } from './output/predict-text.ts'
import type { PredictedProfile } from './output/predicted.ts'

const examples = `
The figures are what each load settles at in every corner of the room. A profile that cannot be predicted is named on
the error output with what it lacks, and the exit code is 1.

Examples:
  detent predict                                       every profile below this folder
  detent predict winter.detent                         a table for each profile of a file
  detent predict --output json . > predictions.json    all figures, unrounded, for scripts
`

const outputs: Readonly<Record<string, (profiles: readonly PredictedProfile[], io: Io) => string>> = {
  text: predictText,
  json: predictJson,
}

/** `detent predict`: what every load settles at, for every profile of files and folders. */
export function addPredict(program: Command, io: Io, finish: (code: ExitCode) => void): void {
  program
    .command('predict')
    .description('Predict clock, voltage, power and temperatures of every load.')
    .argument('[paths...]', 'files, or folders with all .detent files below them (default: this folder)')
    .addOption(new Option('--output <format>', 'how to print').choices(Object.keys(outputs)).default('text'))
    .addHelpText('after', examples)
    .action(async (paths: string[], { output }: { readonly output: string }) => {
      const files = await askedFiles(io, paths)
      const service = createService(nodeFiles)
      await loadFiles(service, files)
      const profiles: PredictedProfile[] = []
      const obstacles: string[] = []
      for (const { uri, shown } of files) {
        const document = service.workspace.document(uri)
        if (document === undefined) continue
        const lines = linesOf(document.source.text)
        for (const evaluation of service.evaluations(uri)) {
          const { definition } = evaluation.profile
          const { line } = lines.at((document.starts.get(definition.chunk) ?? 0) + definition.nameSpan.start)
          const why = obstaclesOf(evaluation)
          if (why !== undefined)
            obstacles.push(`${shown}:${line}: profile ${definition.name} is not predicted: ${why}\n`)
          profiles.push({ file: shown, line, evaluation, rows: allFiguresOf(evaluation) })
        }
      }
      profiles.sort((a, b) => compareText(a.file, b.file) || compareText(nameOf(a), nameOf(b)))
      io.out.write((outputs[output] ?? predictText)(profiles, io))
      for (const obstacle of obstacles) io.err.write(obstacle)
      finish(obstacles.length > 0 ? 1 : 0)
    })
}

const nameOf = (profile: PredictedProfile): string => profile.evaluation.profile.definition.name

const compareText = (a: string, b: string): number => (a < b ? -1 : a > b ? 1 : 0)
