/** Steps and bands proposed for a profile: an action of its name and tables, worked out once it is chosen and seen before it counts. */

import { type CancellationToken, type CodeAction, CodeActionKind, type Range } from 'vscode-languageserver'
import type { Span } from '../../grammar/tree.ts'
import type { Definition } from '../semantic/definitions.ts'
import type { Evaluation } from '../semantic/evaluate.ts'
import {
  acceptedCodes,
  noProposalText,
  nothingAsked,
  type Proposal,
  planEdits,
  proposeInSlices,
  proposeWords,
  unwritableText,
  wording,
} from '../service.ts'
import { normalizeUri } from '../workspace/files.ts'
import { definitionsIn } from '../workspace/workspace.ts'
import { say, serverCommands } from './commands.ts'
import { finishedInSlices } from './extent.ts'
import { isWorkedOn } from './folders.ts'
import { NoPaper } from './papers.ts'
import { telling } from './progress.ts'
import { type MakeEdit, withPreview } from './reach.ts'
import { clientUri, createWanted, type Located, loaded, modified, type Session } from './session.ts'

/** What an action is made again from once it is chosen. */
export interface ProposeData {
  readonly uri: string
  readonly version: number | null
  /** The profile. */
  readonly propose: string
}

const kind = CodeActionKind.RefactorRewrite

/** The name of a profile, and the heads of the tables that a proposal writes. */
function placesOf({ match, nameSpan }: Definition): readonly Span[] {
  const tables = match.children.filter(({ word }) => word?.word === 'steps' || word?.word === 'bands')
  return [nameSpan, ...tables.map(({ statement }) => statement)]
}

/** On a profile's name and on its tables of steps and bands. */
export function proposeActions(session: Session, file: Located, range: Range): CodeAction[] {
  if (!isWorkedOn(session, file.uri)) return []
  const { start, end } = file.lines.span(range)
  return definitionsIn(file.document, { start, end }).flatMap((definition): CodeAction[] => {
    const base = file.document.starts.get(definition.chunk)
    if (definition.kind !== 'profile' || base === undefined || unwritableText({ definition }) !== undefined) return []
    if (!placesOf(definition).some(one => start <= base + one.end && end >= base + one.start)) return []
    const { name } = definition
    const title = `Propose steps and bands for ${name}`
    const uri = clientUri(session, file.uri)
    if (!session.client.resolvesCodeActions)
      return [{ title, kind, command: { title, command: serverCommands.propose, arguments: [uri, name] } }]
    const version = session.open.get(file.uri)?.version ?? null
    return [{ title, kind, data: { uri, version, propose: name } satisfies ProposeData }]
  })
}

function evaluationOf(session: Session, uri: string, name: unknown): Evaluation {
  const evaluation = session.service.evaluations(uri).find(({ profile }) => profile.definition.name === name)
  if (evaluation === undefined) throw new NoPaper(`There is no profile ${String(name)} in its file any more.`)
  return evaluation
}

/** The proposal, a few milliseconds at a time; errors where the request is taken back, or the text has changed. */
async function proposed(session: Session, uri: string, name: unknown, token: CancellationToken): Promise<Proposal> {
  const { service } = session
  const { workspace, bench } = service
  const view = workspace.view(uri)
  const evaluation = evaluationOf(session, uri, name)
  const wanted = createWanted(session, uri, token)
  const evidence = await finishedInSlices(bench.evidenceInSlices(evaluation.profile.part), wanted.check)
  const obstacle = noProposalText(evaluation, nothingAsked, evidence)
  if (obstacle !== undefined || view === undefined)
    throw new NoPaper(`Nothing can be proposed for ${String(name)}, because ${obstacle ?? 'it is not loaded'}.`)
  const allowed = acceptedCodes(view, evaluation.profile)
  const title = `Looking for steps and bands for ${String(name)}`
  const work = { title, count: () => undefined, cancel: wanted.leave }
  const slices = proposeInSlices(evaluation, nothingAsked, evidence, allowed)
  return telling(session, work, () => finishedInSlices(slices, wanted.check))
}

/** The action with the edit that puts the proposal into the profile; what decides its rows is said. */
export async function resolvedProposal(
  session: Session,
  action: CodeAction,
  { uri, version, propose: name }: ProposeData,
  makeEdit: MakeEdit,
  token: CancellationToken,
): Promise<CodeAction> {
  const key = normalizeUri(uri)
  if ((session.open.get(key)?.version ?? null) !== version) throw modified
  await session.scanned
  try {
    const { plan, unmet } = await proposed(session, key, name, token)
    const { profile, input } = evaluationOf(session, key, name)
    const document = session.service.workspace.document(key)
    const unwritable = unwritableText(profile)
    if (unwritable !== undefined) throw new NoPaper(`Nothing is written into profile ${name}: ${unwritable}.`)
    const edits = plan.kind === 'none' || document === undefined ? [] : planEdits(document, profile, plan)
    const ratioStep = input.benchForSteps?.part.ratioStep ?? 1
    const same =
      plan.kind === 'plan' && edits.length === 0 ? [`${name} has the steps and bands that are proposed.`] : []
    const texts = [...same, ...proposeWords.gistTexts({ plan, unmet }, ratioStep)]
    say(session, wording.visible(texts.join(' ')))
    if (edits.length === 0) return action
    return { ...action, edit: withPreview(session, makeEdit(session, [{ uri: key, edits }]), action.title) }
  } catch (error) {
    if (!(error instanceof NoPaper)) throw error
    say(session, wording.visible(error.message))
    return action
  }
}

/** The text of the command for clients that resolve nothing. */
export function registerPropose(session: Session): void {
  session.commands.set(serverCommands.propose, async ([uri, name], token) => {
    if (typeof uri !== 'string' || typeof name !== 'string') throw new NoPaper('No profile is named.')
    await session.scanned
    const file = await loaded(session, { uri })
    if (file === undefined) throw new NoPaper('There is no such file any more.')
    const proposal = await proposed(session, file.uri, name, token)
    const ratioStep = evaluationOf(session, file.uri, name).input.benchForSteps?.part.ratioStep ?? 1
    const texts = proposeWords.gistTexts(proposal, ratioStep)
    say(session, wording.visible(texts.join(' ')))
    return `${texts.join('\n')}\n`
  })
}
