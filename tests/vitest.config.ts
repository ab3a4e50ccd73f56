/** How the unit tests run: on all cores, the files of a worker one after the other in one process. */
import { defineConfig } from 'vitest/config'

export default defineConfig({
  test: {
    root: new URL('..', import.meta.url).pathname,
    include: ['tests/**/*.test.ts'],
    exclude: ['tests/editor/**', '**/node_modules/**'],
    maxWorkers: '100%',
    isolate: false,
    testTimeout: 180_000,
    hookTimeout: 180_000,
  },
})
