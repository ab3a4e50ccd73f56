/** The status item: what the server does, and how much it has found. */

import {
  type Diagnostic,
  DiagnosticSeverity,
  type Disposable,
  languages,
  MarkdownString,
  StatusBarAlignment,
  ThemeColor,
  type Uri,
  window,
} from 'vscode'
import type { ServerState } from './server.ts'

export interface Status extends Disposable {
  show(state: ServerState): void
}

interface Look {
  readonly icon: string
  readonly text: string
  readonly tooltip: string
  readonly command: string
}

function isOurs(uri: Uri): boolean {
  return uri.path.endsWith('.detent') || uri.scheme === 'untitled'
}

interface Found {
  /** Errors, warnings and information: what the list of problems shows as well. */
  readonly count: number
  readonly hints: number
  /** The icon of the most severe. */
  readonly icon: string
  readonly levels: string
}

const several = (count: number, one: string, many = `${one}s`): string => `${count} ${count === 1 ? one : many}`

/** What makes a finding the same as another of its file: the task reads those of closed files from what it prints. */
function keyOf({ code, message, range: { start } }: Diagnostic): string {
  const value = typeof code === 'object' ? code.value : code
  return `${start.line}:${start.character} ${value} ${message.replaceAll(/\s+/g, ' ')}`
}

/** Findings of the language in all files, each once. */
function foundSoFar(): Found {
  const found = languages.getDiagnostics().flatMap(([uri, list]) => {
    const ours = isOurs(uri) ? list.filter(one => one.source === 'detent') : []
    return [...new Map(ours.map(one => [keyOf(one), one])).values()]
  })
  const [errors, warnings, information, hints] = [
    DiagnosticSeverity.Error,
    DiagnosticSeverity.Warning,
    DiagnosticSeverity.Information,
    DiagnosticSeverity.Hint,
  ].map(level => found.filter(({ severity }) => severity === level).length) as [number, number, number, number]
  const levels = [
    ...(errors > 0 ? [several(errors, 'error')] : []),
    ...(warnings > 0 ? [several(warnings, 'warning')] : []),
    ...(information > 0 ? [`${information} information`] : []),
  ]
  return {
    count: errors + warnings + information,
    hints,
    icon: errors > 0 ? 'error' : warnings > 0 ? 'warning' : information > 0 ? 'info' : 'check',
    levels: levels.join(', '),
  }
}

function lookOf(state: ServerState): Look {
  switch (state.kind) {
    case 'starting':
      return {
        icon: 'sync~spin',
        text: 'Detent: starting',
        tooltip: 'The language server is starting.',
        command: 'detent.showOutput',
      }
    case 'stopped':
      return {
        icon: 'error',
        text: 'Detent: stopped',
        tooltip: `${state.why} Click to restart it.`,
        command: 'detent.restartServer',
      }
    case 'trouble':
      return {
        icon: 'warning',
        text: 'Detent: trouble',
        tooltip: `${state.why} Click for the output.`,
        command: 'detent.showOutput',
      }
    case 'waiting':
      return {
        icon: 'edit',
        text: 'Detent: typing',
        tooltip: 'Findings on the line you are typing appear when you pause, move on or save.',
        command: 'workbench.actions.view.problems',
      }
    case 'ready': {
      const { count, hints, icon, levels } = foundSoFar()
      const also = hints === 0 ? '' : `, ${several(hints, 'hint')}`
      const hintsText = hints === 0 ? '' : ` ${several(hints, 'hint')} as well, which the Problems list leaves out.`
      if (count === 0) {
        return {
          icon,
          text: `Detent: ready${also}`,
          tooltip: `No findings.${hintsText}`,
          command: 'detent.showOutput',
        }
      }
      return {
        icon,
        text: `Detent: ${several(count, 'finding')}${also}`,
        tooltip: `${levels}.${hintsText} Click for the list.`,
        command: 'workbench.actions.view.problems',
      }
    }
  }
}

export function createStatus(): Status {
  const item = window.createStatusBarItem('detent.status', StatusBarAlignment.Left, 0)
  item.name = 'Detent'
  let state: ServerState = { kind: 'starting' }

  const refresh = (): void => {
    const { icon, text, tooltip, command } = lookOf(state)
    item.text = `$(${icon}) ${text}`
    // As text: what went wrong may hold characters that Markdown would take for its own.
    item.tooltip = new MarkdownString().appendText(tooltip)
    item.command = command
    item.accessibilityInformation = { label: `${text}. ${tooltip}` }
    const wrong = state.kind === 'stopped' || state.kind === 'trouble'
    item.backgroundColor = wrong ? new ThemeColor('statusBarItem.warningBackground') : undefined
    item.show()
  }

  const listening = languages.onDidChangeDiagnostics(({ uris }) => {
    if (state.kind === 'ready' && uris.some(isOurs)) refresh()
  })
  refresh()
  return {
    show: next => {
      state = next
      refresh()
    },
    dispose: () => {
      listening.dispose()
      item.dispose()
    },
  }
}
