/** Leaves a picture of what stood on the screen when a test failed. */
import { afterEach } from 'vitest'
import { screenshotOfFailure } from './editor.ts'

afterEach(async ({ task }) => {
  if (task.result?.state === 'fail') await screenshotOfFailure(task.name)
})
