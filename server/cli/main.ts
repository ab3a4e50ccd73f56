/** The `detent` command. */
import { processIo } from './io.ts'
import { run } from './run.ts'

// Whoever reads the output may stop reading early (`detent predict | head`); that is no failure of ours.
process.stdout.on('error', (error: NodeJS.ErrnoException) => process.exit(error.code === 'EPIPE' ? 0 : 2))

void run(process.argv.slice(2), processIo()).then(code => {
  process.exitCode = code
})
