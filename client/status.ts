import {
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

/** The status item: what the server does, and how much it has found. */

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

/** Findings of the language in all files: how many, and the icon of the gravest. */
function foundSoFar(): { readonly count: number; readonly icon: string } {
  const found = languages
    .getDiagnostics()
    .flatMap(([uri, list]) => (isOurs(uri) ? list : []))
    .filter(one => one.source === 'detent')
  const gravest = Math.min(...found.map(({ severity }) => severity))
  const icon =
    gravest === DiagnosticSeverity.Error ? 'error' : gravest === DiagnosticSeverity.Warning ? 'warning' : 'info'
  return { count: found.length, icon }
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
        tooltip: `${state.why} Click to start it again.`,
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
        tooltip: 'What is found on the line you are typing shows when you pause, move on or save.',
        command: 'workbench.actions.view.problems',
      }
    case 'ready': {
      const { count, icon } = foundSoFar()
      if (count === 0) {
        return { icon: 'check', text: 'Detent: ready', tooltip: 'No findings.', command: 'detent.showOutput' }
      }
      return {
        icon,
        text: `Detent: ${count} finding${count === 1 ? '' : 's'}`,
        tooltip: 'Click to see them.',
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
