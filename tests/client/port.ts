/** A connection's two ends over a message port, as between an editor and a worker. */
import type { MessagePort } from 'node:worker_threads'
import {
  AbstractMessageReader,
  AbstractMessageWriter,
  type DataCallback,
  type Disposable,
  type Message,
  type MessageReader,
  type MessageWriter,
} from 'vscode-languageserver/node'

export function readerOf(port: MessagePort): MessageReader {
  return new (class extends AbstractMessageReader {
    listen(callback: DataCallback): Disposable {
      port.on('message', (message: Message) => callback(message))
      return { dispose: () => port.close() }
    }
  })()
}

export function writerOf(port: MessagePort): MessageWriter {
  return new (class extends AbstractMessageWriter {
    async write(message: Message): Promise<void> {
      port.postMessage(message)
    }
    end(): void {}
  })()
}
