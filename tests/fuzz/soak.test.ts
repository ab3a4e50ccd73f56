import { spawnSync } from 'node:child_process'
import { join } from 'node:path'
import { expect, it } from 'vitest'
import { root } from '../harness/sources.ts'

/** A short soak; `npm run soak` is the long one. The heap is measured after collection, the handles with the server at rest. */
it('five hundred edits leave no handle behind, and no text of theirs', { timeout: 240_000 }, () => {
  const soak = join(root, 'tests', 'fuzz', 'soak.ts')
  const { stdout, stderr, status } = spawnSync(process.execPath, ['--expose-gc', soak, '--edits', '500'], {
    encoding: 'utf8',
    timeout: 200_000,
  })
  expect(`${stdout}${stderr}`).toMatch(/^flat: heap -?\d/m)
  expect(status).toBe(0)
})
