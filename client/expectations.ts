/** From the line above a profile to what it counts: the expectations of the profile. */

import { commands, type QuickPickItem, Range, Uri, window } from 'vscode'
import type { BaseLanguageClient } from 'vscode-languageclient'
import { givenProfile } from './papers.ts'
import type { ToldExpectation, ToldFile } from './test-tree.ts'

interface Item extends QuickPickItem {
  readonly told: ToldExpectation
}

function itemOf(told: ToldExpectation): Item {
  const { holds, text, figure, message } = told
  const icon = holds === null ? 'question' : holds ? 'pass' : 'error'
  return {
    label: `$(${icon}) ${text}`,
    ...(figure === undefined ? {} : { description: figure }),
    ...(message === undefined ? {} : { detail: message }),
    told,
  }
}

async function goTo(uri: string, { range: { start, end } }: ToldExpectation): Promise<void> {
  const selection = new Range(start.line, start.character, end.line, end.character)
  await window.showTextDocument(Uri.parse(uri), { selection })
}

/**
 * Goes to the one expectation that does not hold; where there are several, or none, lists all with their figures, to go
 * to one of them.
 */
export async function showExpectations(client: BaseLanguageClient, file: unknown, profile: unknown): Promise<void> {
  const own = await givenProfile(file, profile)
  if (own === undefined) return
  const files = await client.sendRequest<readonly ToldFile[]>('detent/expectations', { uris: [own.uri] })
  const all = files.flatMap(({ expectations }) => expectations.filter(one => one.profile === own.profile))
  if (all.length === 0) {
    void window.showInformationMessage(`${own.profile} has no expectations yet: write an \`expect\` line.`)
    return
  }
  const failing = all.filter(({ holds }) => holds === false)
  const [only] = failing
  if (only !== undefined && failing.length === 1) return goTo(own.uri, only)
  const rest = all.filter(one => !failing.includes(one))
  const allTests = '$(beaker) Show in the Test Explorer'
  const picked = await window.showQuickPick<Item | QuickPickItem>(
    [...[...failing, ...rest].map(itemOf), { label: allTests, alwaysShow: true }],
    { placeHolder: `What ${own.profile} expects`, matchOnDescription: true },
  )
  if (picked === undefined) return
  if ('told' in picked) await goTo(own.uri, picked.told)
  else await commands.executeCommand('workbench.view.testing.focus')
}
