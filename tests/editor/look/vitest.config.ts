/** How the screen tests are run: one after another, with time for a real editor. */

import { defineConfig } from 'vitest/config'

export default defineConfig({
  test: {
    root: new URL('../../..', import.meta.url).pathname,
    include: ['tests/editor/look/**/*.look.ts'],
    setupFiles: ['tests/editor/look/setup.ts'],
    // A browser, a server and an extension host on one machine: what a stall has cost is tried once more.
    retry: 1,
    testTimeout: 60_000,
    hookTimeout: 60_000,
    // What the editor does in its own time on a busy machine.
    expect: { poll: { timeout: 15_000, interval: 100 } },
    // One page serves all files, one after another: opening the editor is what takes the time.
    fileParallelism: false,
    isolate: false,
    maxWorkers: 1,
  },
})
