import { expect, it } from 'vitest'
import { isWork } from '../../server/model/index.ts'
import { envelopeOf } from '../../server/semantic/envelope.ts'
import { loadFixture, uriOf } from '../harness/fixture.ts'
import { twoGroups } from '../harness/two-groups.ts'

const steps = `  steps broad {
    1 to 2 cores 53x
    3 to 4 cores 50x
  }
  steps small {
    1 to 6 cores 40x
    7 to 12 cores 38x
  }`

it('looks at each count of a group with the others idle and full, and at mixes of the ends of rows', async () => {
  const { service } = await loadFixture(`--- a.detent\n${twoGroups(steps)}`)
  const [evaluation] = service.evaluations(uriOf('a.detent'))
  const points = evaluation === undefined ? [] : envelopeOf(evaluation)
  const seen = points.flatMap(({ name, load, isForeign }) =>
    isWork(load) && load.activity === 1
      ? [{ at: load.groups?.map(({ cores }) => cores).join('+'), name, isForeign }]
      : [],
  )
  const counts = seen.map(({ at }) => at)
  const own = [1, 2, 3, 4].flatMap(broad => [`${broad}+0`, `${broad}+10`])
  const other = Array.from({ length: 10 }, (_, index) => [`0+${index + 1}`, `4+${index + 1}`]).flat()
  // The rows end at 2 and 4 of the one and at 6 and 10 of the other; a row that goes beyond the group ends with it.
  const mixes = ['2+6']
  expect(new Set(counts)).toEqual(new Set([...own, ...other, ...mixes]))
  expect(counts).toHaveLength(new Set(counts).size)
  // Full activity is declared on all cores alone.
  expect(seen.filter(({ isForeign }) => isForeign === false).map(({ at }) => at)).toEqual(['4+10'])
})
