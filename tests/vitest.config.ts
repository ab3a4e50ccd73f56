/** How the unit tests run: on all cores, the files of a worker one after the other in one process. */
import { fileURLToPath } from 'node:url'
import { defineConfig } from 'vitest/config'

export default defineConfig({
  test: {
    root: new URL('..', import.meta.url).pathname,
    include: ['tests/**/*.test.ts'],
    exclude: ['tests/editor/**', '**/node_modules/**'],
    maxWorkers: '100%',
    isolate: false,
    // The command runs from its sources in processes of its own: each takes its types off what the first one has read.
    env: { NODE_COMPILE_CACHE: fileURLToPath(new URL('../.cache/node', import.meta.url)) },
    testTimeout: 180_000,
    hookTimeout: 180_000,
  },
})
