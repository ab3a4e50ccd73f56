/** What one thing that the server can do is made of. */

import type { ServerCapabilities } from 'vscode-languageserver'
import type { Client } from './client.ts'
import type { Session } from './session.ts'

/** One thing the server can do: what it says of it, and its handlers. Both stand together, so that they agree. */
export interface Feature {
  /** What is said to this client; undefined where it cannot use it. */
  readonly advertise: (client: Client) => ServerCapabilities | undefined
  /** Called when the client is known, and only if the feature was advertised. */
  readonly register: (session: Session) => void
}
