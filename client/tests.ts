/** Expectations in the Test Explorer: run from there or from the gutter, and kept up with what is typed. */

import {
  type CancellationToken,
  Disposable,
  type TestItem,
  TestMessage,
  type TestRun,
  TestRunProfileKind,
  TestRunRequest,
  tests,
  workspace,
} from 'vscode'
import { type BaseLanguageClient, State } from 'vscode-languageclient'
import { createTestTree, fileId, report, type ToldExpectation, type ToldFile } from './test-tree.ts'

/** What a result shows; results that show the same are not reported again. */
function shownOf({ holds, figure, message }: ToldExpectation): string {
  return `${holds} ${figure} ${message ?? ''}`
}

function lineOf({ profile, text, holds, figure, message }: ToldExpectation): string {
  const verdict = holds === null ? 'undecided' : holds ? 'holds' : 'does not hold'
  const predicted = figure === undefined ? '' : `, predicted ${figure}`
  return `${profile}: ${text}: ${verdict}${predicted}${message === undefined ? '' : `\r\n  ${message}`}\r\n`
}

export function createTests(client: BaseLanguageClient): Disposable {
  const controller = tests.createTestController('detent', 'Detent Expectations')
  const tree = createTestTree(controller)
  /** What was reported last of an item; evicted with it. */
  const shown = new WeakMap<TestItem, string>()
  /** Files whose expectations may be others now. */
  const waiting = new Set<string>()
  /** Called when the server tells that something changed. */
  const listeners = new Set<() => void>()
  let wantsAll = false
  let isAsking = false

  const ask = async (uris: readonly string[] | undefined, token?: CancellationToken): Promise<void> => {
    const params = uris === undefined ? {} : { uris }
    // An absent token would count as one more parameter.
    const more = token === undefined ? [] : [token]
    tree.update(await client.sendRequest<readonly ToldFile[]>('detent/expectations', params, ...more))
  }

  const show = (run: TestRun, item: TestItem, told: ToldExpectation): void => {
    if (told.pending) return
    report(run, item, told)
    shown.set(item, shownOf(told))
  }

  /**
   * Reports by itself the files in which something comes to something else than was reported last: whole files, so that
   * the editor's count is theirs. A run that goes on takes no focus and opens nothing.
   */
  const showChanges = (): void => {
    const changed = tree.files().filter(file =>
      tree.leaves(file).some(item => {
        const told = tree.told(item)
        return told !== undefined && !told.pending && shown.get(item) !== shownOf(told)
      }),
    )
    if (changed.length === 0) return
    const request = new TestRunRequest(changed, undefined, check, true, true)
    const run = controller.createTestRun(request, undefined, false)
    for (const item of changed.flatMap(file => tree.leaves(file))) {
      const told = tree.told(item)
      if (told !== undefined) show(run, item, told)
    }
    run.end()
  }

  /** Asks until nothing waits any more; one question at a time. */
  const follow = async (): Promise<void> => {
    if (isAsking) return
    isAsking = true
    try {
      while (waiting.size > 0) {
        const uris = [...waiting]
        waiting.clear()
        await ask(uris)
        showChanges()
      }
    } catch (error) {
      client.warn(`Expectations could not be judged: ${String(error)}`, undefined, false)
    } finally {
      isAsking = false
    }
  }

  const isWanted = (uri: string): boolean => {
    const id = fileId(uri)
    return wantsAll || tree.has(uri) || workspace.textDocuments.some(document => document.uri.toString() === id)
  }

  const all = async (token?: CancellationToken): Promise<void> => {
    wantsAll = true
    if (!client.isRunning()) return
    try {
      const before = tree.files().map(({ id }) => id)
      await ask(undefined, token)
      // Files that are no longer there are not among all; asked for by name, they have no expectations.
      if (before.length > 0) await ask(before, token)
      showChanges()
    } catch (error) {
      client.warn(`Expectations could not be listed: ${String(error)}`, undefined, false)
    }
  }

  /** Waits until the server tells of a change, or the person has had enough. */
  const change = (token: CancellationToken): Promise<void> =>
    new Promise(resolve => {
      const cancelled = token.onCancellationRequested(() => done())
      const done = (): void => {
        listeners.delete(done)
        cancelled.dispose()
        resolve()
      }
      listeners.add(done)
    })

  const runItems = async (run: TestRun, items: readonly TestItem[], token: CancellationToken): Promise<void> => {
    const left = new Set(items)
    for (const item of left) run.started(item)
    while (left.size > 0 && !token.isCancellationRequested) {
      const changed = change(token)
      await ask([...new Set([...left].flatMap(item => (item.uri === undefined ? [] : [item.uri.toString()])))], token)
      const there = new Set(tree.leaves())
      for (const item of left) {
        const told = tree.told(item)
        if (told?.pending && there.has(item)) continue
        left.delete(item)
        // The line may have been taken out meanwhile.
        if (told === undefined || !there.has(item)) run.skipped(item)
        else {
          show(run, item, told)
          run.appendOutput(lineOf(told), undefined, item)
        }
      }
      // What rests on a run over time is reported once the run is made.
      if (left.size > 0) await changed
    }
  }

  const check = controller.createRunProfile(
    'Check Expectations',
    TestRunProfileKind.Run,
    async (request, token) => {
      if (request.include === undefined) await all(token)
      const excluded = new Set((request.exclude ?? []).flatMap(item => tree.leaves(item)))
      const asked = request.include === undefined ? tree.leaves() : request.include.flatMap(item => tree.leaves(item))
      const items = [...new Set(asked)].filter(item => !excluded.has(item))
      const run = controller.createTestRun(request)
      try {
        await runItems(run, items, token)
      } catch (error) {
        if (!token.isCancellationRequested) {
          const message = new TestMessage('The language server did not answer; the output “Detent” says why.')
          for (const item of items) run.errored(item, message)
          client.warn(`Expectations could not be judged: ${String(error)}`, undefined, false)
        }
      } finally {
        run.end()
      }
    },
    true,
  )
  controller.resolveHandler = async item => {
    if (item === undefined) await all()
  }
  controller.refreshHandler = token => all(token)

  return Disposable.from(
    controller,
    client.onNotification('detent/expectationsChanged', ({ uris }: { readonly uris: readonly string[] }) => {
      for (const uri of uris) if (isWanted(uri)) waiting.add(uri)
      for (const tell of [...listeners]) tell()
      void follow()
    }),
    client.onDidChangeState(({ newState }) => {
      if (newState !== State.Running) return
      for (const tell of [...listeners]) tell()
      if (wantsAll) void all()
    }),
  )
}
