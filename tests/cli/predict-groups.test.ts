import { expect, it } from 'vitest'
import { temporaryFolder } from '../harness/process.ts'
import { soundSteps, twoGroups } from '../harness/two-groups.ts'
import { detent } from './helpers.ts'

it('prints how many cores of each group run at which clock', async () => {
  using folder = temporaryFolder({ 'a.detent': twoGroups(soundSteps) })
  const { out, code } = await detent(folder.path, ['predict'])
  expect(code).toBe(0)
  expect(out).toMatch(/load +cores +corner +broad MHz +small MHz\n/)
  expect(out).toMatch(/whole +14 +25 °C 48 % +4 at 5000 +10 at 4000\n/)
  expect(out).toMatch(/few +2 +25 °C 48 % +2 at 5300 +–\n/)
})
