/** `detent language-server`. */

import { type Command, Option } from 'commander'
import { UnusableCall } from './io.ts'
import { packageVersion } from './version.ts'

const examples = `
Examples:
  detent language-server --stdio    what an editor starts; it speaks the Language Server Protocol
`

/** `detent language-server`: answers an editor until it says goodbye. */
export function addLanguageServer(program: Command): void {
  program
    .command('language-server')
    .description('Serve an editor over the Language Server Protocol.')
    .option('--stdio', 'speak over standard input and output')
    // Editor clients add this by themselves, so that the server ends when the editor does.
    .addOption(new Option('--clientProcessId <number>').hideHelp())
    .addHelpText('after', examples)
    .action(async ({ stdio }: { readonly stdio?: true }) => {
      if (stdio === undefined) throw new UnusableCall('language-server speaks over --stdio only: add it')
      // Loaded here alone: the other sub-commands start without the protocol.
      const { startServer } = await import('../lsp/start.ts')
      await startServer(packageVersion())
    })
}
