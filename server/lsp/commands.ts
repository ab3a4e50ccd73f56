/**
 * Commands of the server, for clients that have none of their own: what they answer with is plain text. A client that
 * shows nothing of an answer gets a message with the gist of it.
 */

import { ErrorCodes, LSPErrorCodes, MessageType, ResponseError, ShowMessageNotification } from 'vscode-languageserver'
import type { Client } from './client.ts'
import type { Feature } from './feature.ts'
import { NoPaper } from './papers.ts'
import { answering, type Session } from './session.ts'

/** The commands by name; those that take a file, what each takes. */
export const serverCommands = {
  lookUpRevisions: 'detent.server.lookUpRevisions',
  smallChanges: 'detent.server.smallChanges',
  reach: 'detent.server.reach',
  whatIf: 'detent.server.whatIf',
  since: 'detent.server.since',
  propose: 'detent.server.propose',
  course: 'detent.server.course',
} as const

/** Our own client has commands of its own, and requests beneath them. */
const takesServerCommands = (client: Client): boolean => !client.looksUpRevisions

/** A line for a person, in whatever way the client shows messages. */
export function say({ connection }: Session, text: string): void {
  void connection.sendNotification(ShowMessageNotification.type, { type: MessageType.Info, message: `Detent: ${text}` })
}

export const commands: Feature = {
  advertise: client =>
    takesServerCommands(client)
      ? { executeCommandProvider: { commands: Object.values(serverCommands), workDoneProgress: false } }
      : {},
  register: session => {
    if (!takesServerCommands(session.client)) return
    session.connection.onExecuteCommand(
      answering(session, 'A command', null, async ({ command, arguments: given }, token) => {
        const run = session.commands.get(command)
        if (run === undefined) {
          const known = Object.values(serverCommands).join(', ')
          throw new ResponseError<never>(ErrorCodes.InvalidParams, `there is no such command; there are ${known}`)
        }
        try {
          return await run(Array.isArray(given) ? given : [], token)
        } catch (error) {
          // An editor shows why a command that a person gave has failed.
          if (error instanceof NoPaper) throw new ResponseError<never>(LSPErrorCodes.RequestFailed, error.message)
          throw error
        }
      }),
    )
  },
}
