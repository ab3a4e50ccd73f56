import { describe, expect, it } from 'vitest'
import { benchText } from '../cli/helpers.ts'
import { loadAtCursor } from '../harness/fixture.ts'
import { soundSteps, twoGroups } from '../harness/two-groups.ts'
import { rows } from './hovered.ts'

const course = `
course stint {
  start room
  idle 20 s
  work until die >= 30 °C within 1 min
  fault fan 0 %
  work 30 s
  off 5 s
}
`

/** The hover before a mark, made ready as an editor does it; and what there was before. */
async function hoverAt(mark: string, whole = benchText() + course) {
  const offset = whole.lastIndexOf(mark)
  const { service, cursor } = await loadAtCursor(`${whole.slice(0, offset)}$0${whole.slice(offset)}`)
  const before = service.features.hover(cursor.uri, cursor.offset)?.text ?? ''
  let slices = 0
  for (const making = service.features.prepareHover(cursor.uri, cursor.offset); making.next().done !== true; ) slices++
  const [evaluation] = service.evaluations(cursor.uri)
  const text = service.features.hover(cursor.uri, cursor.offset)?.text ?? ''
  const definition = evaluation?.profile.courses[0]
  return { before, slices, text, evaluation, definition }
}

describe('the hover of a course', () => {
  it('waits for nothing, then says each step with its figures', async () => {
    const { before, text } = await hoverAt('stint {')
    expect(before).toContain('The course is being followed; look again in a moment.')
    expect(text).toContain('from power-on, 4 steps')
    expect(text).toContain('The machine does not stop.')
    const [head = [], ...steps] = rows(text)
    expect(head).toEqual(['Step', 'Lasts', 'Lowest clock', 'Hottest die'])
    expect(steps.map(([name]) => name)).toEqual(['idle', 'work', 'work', 'off'])
    expect(steps[0]?.[1]).toBe('20 s')
    // At rest there is no clock.
    expect([steps[0]?.[2], steps[1]?.[2]]).toEqual(['', '4.60 GHz'])
    expect(text).toMatch(/work until die \\>= 30 °C: after \d/)
  })

  it('of a step says that step alone, on its load and on its time', async () => {
    const whole = rows((await hoverAt('stint {')).text)
    const onTime = await hoverAt('30 s\n  off')
    const [, step = []] = rows(onTime.text)
    expect(step.slice(0, 3)).toEqual(whole[3]?.slice(1))
    const onLoad = await hoverAt('work 30 s')
    expect(onLoad.text).toContain('load **work**')
    expect(rows(onLoad.text)[1]).toEqual(step)
  })

  it('says the lowest clock of each group of cores that a step keeps busy', async () => {
    const whole = twoGroups(soundSteps, 'course stint { few 5 s; whole 5 s; idle 5 s }\n')
    const [, ...steps] = rows((await hoverAt('stint {', whole)).text)
    expect(steps.map(cells => cells[2])).toEqual(['5.30 GHz broad', '5.00 GHz broad, 4.00 GHz small', ''])
  })

  it('of a fault says how the step behind it goes', async () => {
    const { text } = await hoverAt('fan 0 %')
    expect(rows(text)[1]?.[0]).toBe('30 s')
  })
})

describe('completion in and of courses', () => {
  const labelsIn = async (text: string): Promise<readonly string[]> => {
    const { service, cursor } = await loadAtCursor(text)
    return service.features.completions(cursor.uri, cursor.offset, 'invoked').map(({ label }) => label)
  }
  const inCourse = (line: string) => labelsIn(`${benchText()}course stint {\n  ${line}\n  idle 3 min\n}\n`)

  it('goes along a step, loads first', async () => {
    expect((await inCourse('$0')).slice(0, 3)).toEqual(['idle', 'off', 'work'])
    expect(await inCourse('work $0')).toEqual(['until'])
    expect(await inCourse('work until $0')).toEqual(['die', 'plate', 'coolant'])
    expect(await inCourse('work until die >= 30 °C $0')).toEqual(['within'])
    expect(await inCourse('start settled $0')).toEqual(['idle', 'off', 'work'])
  })

  it('offers a run to be under a course where there is one', async () => {
    const run = 'run a of daily under $0'
    expect(await labelsIn(`${benchText()}course stint {\n  idle 3 min\n}\n${run}`)).toContain('course')
    expect(await labelsIn(`${benchText()}${run}`)).not.toContain('course')
  })
})
