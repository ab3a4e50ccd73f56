/** Tasks that run the command `detent check` over a folder. */

import {
  ProcessExecution,
  Task,
  type TaskDefinition,
  TaskGroup,
  type TaskProvider,
  type Uri,
  type WorkspaceFolder,
  workspace,
} from 'vscode'

interface CheckDefinition extends TaskDefinition {
  readonly command: 'check'
  readonly path?: string
}

function checkTask(command: string, folder: WorkspaceFolder, definition: CheckDefinition): Task {
  const path = definition.path ?? '.'
  // The editor's own program runs as Node, so that no Node needs to be installed.
  const run = new ProcessExecution(process.execPath, [command, 'check', path], {
    cwd: folder.uri.fsPath,
    env: { ELECTRON_RUN_AS_NODE: '1' },
  })
  // What is found is in the list of problems already. An editor that reads it from the lines takes away what they do not
  // name, and it may read a long line as two.
  const task = new Task(definition, folder, path === '.' ? 'check' : `check ${path}`, 'detent', run, [])
  task.group = TaskGroup.Test
  task.detail = 'Check every profile and report what is found'
  return task
}

/** @param command path of the bundled command */
export function createTasks(command: string): TaskProvider {
  const local = (uri: Uri): boolean => uri.scheme === 'file'
  return {
    provideTasks: () =>
      (workspace.workspaceFolders ?? [])
        .filter(folder => local(folder.uri))
        .map(folder => checkTask(command, folder, { type: 'detent', command: 'check' })),
    resolveTask: task => {
      const definition = task.definition as CheckDefinition
      const folder = typeof task.scope === 'object' ? task.scope : workspace.workspaceFolders?.[0]
      if (folder === undefined || !local(folder.uri) || definition.command !== 'check') return undefined
      return checkTask(command, folder, definition)
    },
  }
}
