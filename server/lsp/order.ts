/** The order of messages that the protocol asks for: what comes too early, twice or too late reaches no handler. */
import {
  type DataCallback,
  ErrorCodes,
  type Message,
  type MessageReader,
  type MessageWriter,
  type RequestMessage,
} from 'vscode-languageserver'

/** Where a session stands by what the client has asked for. */
type Phase = 'before' | 'serving' | 'ended'

const refusals: Readonly<Record<'before' | 'again' | 'ended', readonly [code: number, message: string]>> = {
  before: [ErrorCodes.ServerNotInitialized, 'the first request is `initialize`'],
  again: [ErrorCodes.InvalidRequest, 'this server is initialized already'],
  ended: [ErrorCodes.InvalidRequest, 'this server has been shut down; only `exit` may follow'],
}

export interface OrderedReader extends MessageReader {
  /** Whether `shutdown` was asked for: a process that then ends has not failed. */
  readonly isEnded: boolean
}

/** Some clients spell parameters that are not there as null. */
function withoutNull(message: Message): Message {
  if (!('params' in message) || message.params !== null) return message
  const { params: _params, ...rest } = message
  return rest
}

/**
 * A reader that passes on what may come at this point. Requests that may not are answered by themselves, notifications
 * are dropped; `exit` always passes, and so do the answers to the server's own requests.
 */
export function inOrder(reader: MessageReader, writer: MessageWriter): OrderedReader {
  let phase: Phase = 'before'
  const refusalOf = (method: string): keyof typeof refusals | undefined => {
    if (method === 'exit') return undefined
    if (method === 'initialize') {
      if (phase === 'before') phase = 'serving'
      else return phase === 'serving' ? 'again' : 'ended'
    } else if (phase !== 'serving') return phase
    else if (method === 'shutdown') phase = 'ended'
    return undefined
  }
  const refuse = (id: RequestMessage['id'], refusal: keyof typeof refusals): void => {
    const [code, message] = refusals[refusal]
    const answer: Message & Record<string, unknown> = { jsonrpc: '2.0', id, error: { code, message } }
    // A client that is gone needs no answer.
    writer.write(answer).catch(() => undefined)
  }
  return {
    onError: reader.onError,
    onClose: reader.onClose,
    onPartialMessage: reader.onPartialMessage,
    dispose: () => reader.dispose(),
    listen: (pass: DataCallback) =>
      reader.listen(message => {
        const { method, id } = message as Partial<RequestMessage>
        const refusal = typeof method === 'string' ? refusalOf(method) : undefined
        if (refusal === undefined) pass(withoutNull(message))
        else if (id !== undefined) refuse(id, refusal)
      }),
    get isEnded() {
      return phase === 'ended'
    },
  }
}
