import type { Severities } from '../checks/run.ts'
import { findAll } from '../checks/run.ts'
import type { Workspace } from '../workspace/workspace.ts'
import { type FileEdits, fixEdits, type QuickFix, quickFixes } from './actions.ts'
import {
  type Completion,
  type CompletionTopic,
  type CompletionTrigger,
  completions,
  completionText,
} from './completion/completion.ts'
import { type Fold, folds } from './folding.ts'
import { type Hover, hover } from './hover/hover.ts'
import { documentSymbols, type OutlineSymbol } from './symbols.ts'

/** What an editor can ask of a file. Places are offsets of the file's text; every answer is plain data. */
export interface Features {
  hover(uri: string, offset: number): Hover | undefined
  completions(uri: string, offset: number, trigger: CompletionTrigger): readonly Completion[]
  /** Documentation of one completion, as Markdown. */
  completionText(topic: CompletionTopic): string | undefined
  documentSymbols(uri: string): readonly OutlineSymbol[]
  folds(uri: string): readonly Fold[]
  /** The fixes of the findings that touch a stretch of the file. */
  quickFixes(uri: string, start: number, end: number, severities: Severities): readonly QuickFix[]
  fixEdits(uri: string, fix: QuickFix): readonly FileEdits[] | undefined
}

export function createFeatures(workspace: Workspace): Features {
  return {
    hover: (uri, offset) => hover(workspace, uri, offset),
    completions: (uri, offset, trigger) => completions(workspace, uri, offset, trigger),
    completionText: topic => completionText(workspace, topic),
    documentSymbols: uri => documentSymbols(workspace, uri),
    folds: uri => folds(workspace, uri),
    quickFixes: (uri, start, end, severities) => {
      const view = workspace.view(uri)
      if (view === undefined) return []
      return quickFixes(findAll(view, workspace.usersOf(uri).length > 0, severities), start, end)
    },
    fixEdits: (uri, fix) => fixEdits(workspace, uri, fix.finding, fix.index),
  }
}
