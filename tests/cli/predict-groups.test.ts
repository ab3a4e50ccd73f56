import { expect, it } from 'vitest'
import { temporaryFolder } from '../harness/process.ts'
import { soundSteps, twoGroups } from '../harness/two-groups.ts'
import { detent } from './helpers.ts'

it('has a row for each clock of every group, also where the first busy one keeps its own', async () => {
  const steps = soundSteps.replace('1 to 10 cores  40x', '1 to 4 cores 40x; 5 to 10 cores 36x')
  const load = 'load more { cores broad 2; cores small 3 to 6; activity 0.8 }\n'
  using folder = temporaryFolder({ 'a.detent': twoGroups(steps, load) })
  const { out } = await detent(folder.path, ['predict'])
  expect(out).toMatch(/more +5 to 6 +25 °C 48 % +2 at 5300 +4 at 4000\n/)
  expect(out).toMatch(/more +7 to 8 +25 °C 48 % +2 at 5300 +6 at 3600\n/)
})

it('prints how many cores of each group run at which clock', async () => {
  using folder = temporaryFolder({ 'a.detent': twoGroups(soundSteps) })
  const { out, code } = await detent(folder.path, ['predict'])
  expect(code).toBe(0)
  expect(out).toMatch(/load +cores +corner +broad MHz +small MHz\n/)
  expect(out).toMatch(/whole +14 +25 °C 48 % +4 at 5000 +10 at 4000\n/)
  expect(out).toMatch(/few +2 +25 °C 48 % +2 at 5300 +–\n/)
})
