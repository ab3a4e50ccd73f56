import { formatEdits, type TextEdit } from '../grammar/printer.ts'
import { evaluations, findAll, type PlacedFinding, type Severities } from './checks/run.ts'
import { createFeatures, type Features } from './features/index.ts'
import type { Evaluation } from './semantic/evaluate.ts'
import { type Expectation, expectationsOf } from './semantic/expectations.ts'
import type { FileSystem } from './workspace/files.ts'
import { createWorkspace, type Workspace } from './workspace/workspace.ts'

export { applyEdits } from '../grammar/printer.ts'
export { pageOf } from './checks/page.ts'
export { checks, findCheck } from './checks/registry.ts'
export { allFiguresOf, figuresOf, type PredictionFigures } from './features/prediction-figures.ts'

/**
 * The façade: the one door for the language server and for the command line. Everything behind it is plain data;
 * nothing here knows of a protocol or of a terminal. All methods but `workspace.load` answer at once from what is loaded.
 */
export interface Service {
  readonly workspace: Workspace
  /** What an editor asks of one file. */
  readonly features: Features
  /** Everything found in a file, sorted by place; empty for a file that is not loaded. */
  findings(uri: string, severities?: Severities): readonly PlacedFinding[]
  /** The profiles of a file, resolved and predicted. */
  evaluations(uri: string): readonly Evaluation[]
  /** The expectations of one evaluated profile. */
  expectations(evaluation: Evaluation): readonly Expectation[]
  /** The edits that format a file; none where it is formatted. */
  formatting(uri: string): readonly TextEdit[]
}

export function createService(files: FileSystem): Service {
  const workspace = createWorkspace(files)
  return {
    workspace,
    features: createFeatures(workspace),
    findings: (uri, severities) => {
      const view = workspace.view(uri)
      return view === undefined ? [] : findAll(view, workspace.usersOf(uri).length > 0, severities)
    },
    evaluations: uri => {
      const view = workspace.view(uri)
      return view === undefined ? [] : evaluations(view)
    },
    expectations: expectationsOf,
    formatting: uri => {
      const document = workspace.document(uri)
      return document === undefined ? [] : formatEdits(document.source)
    },
  }
}
