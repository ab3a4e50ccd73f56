/** Leaves a picture of what stood on the screen when a test failed. */
import { afterEach } from 'vitest'
import { leaveDesk, screenshotOfFailure } from './editor.ts'

afterEach(async ({ task }) => {
  if (task.result?.state !== 'fail') return
  await screenshotOfFailure(task.name)
  leaveDesk()
})
