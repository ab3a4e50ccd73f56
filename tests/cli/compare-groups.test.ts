import { expect, it } from 'vitest'
import { temporaryFolder } from '../harness/process.ts'
import { soundSteps, twoGroups } from '../harness/two-groups.ts'
import { detent } from './helpers.ts'

const night = 'profile night based-on day { steps small { 1 to 10 cores 36x } }\n'
const mixes = 'load mix { cores broad 1 to 2; cores small 1 to 2; activity 0.8 }\n'

it('compares profiles case by case, two mixes with as many cores apart', async () => {
  using folder = temporaryFolder({ 'a.detent': `${twoGroups(soundSteps, mixes)}${night}` })
  const { out } = await detent(folder.path, ['compare', 'day', 'night'])
  // A row whose load and cores are those of the row above leaves them out; 1 + 2 and 2 + 1 cores are not the same.
  expect(out).toMatch(/mix +1 \/ 2 +day +5300 \/ 4000 .*\n +night +5300 \/ 3600 /)
  expect(out).toMatch(/mix +2 \/ 1 +day +5300 \/ 4000 .*\n +night +5300 \/ 3600 /)
})
