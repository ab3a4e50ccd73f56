import { describe, expect, it } from 'vitest'
import { layOver, readOverlay, shownPlace } from '../../server/features/overlay/index.ts'
import { createService, finished, followAllInSlices, type Service } from '../../server/service.ts'
import { benchText } from '../cli/helpers.ts'
import { memoryFiles } from '../harness/file-systems.ts'

/** A statement laid over a course is worth what the course would be if its lines stood in the file. */

const uri = 'memory://w/a.detent'
const evening = `course evening {
  idle 20 s
  fault fan 50 %
  work 30 s            # the heavy one
  idle 10 s
}
`
const text = `${benchText()}\nload pair { cores 2; activity 0.5 }\n\n${evening}`

async function load(own: string): Promise<Service> {
  const service = createService(memoryFiles({ [uri]: own }))
  await service.workspace.load([uri])
  return service
}

function followed(service: Service, name = 'evening') {
  const [evaluation] = service.evaluations(uri)
  const course = evaluation?.profile.courses.find(one => one.name === name)
  if (evaluation === undefined || course === undefined) throw new Error(`course ${name} is not seen`)
  const { at, undecided } = finished(followAllInSlices(evaluation, course))
  const steps = at.map(({ run }) => [run.steps, run.events, run.endS].map(one => JSON.stringify(one)))
  return { steps, undecided }
}

async function overlaid(...statements: readonly string[]): Promise<Service> {
  const service = await load(text)
  layOver(
    service.workspace,
    statements.map((one, index) => readOverlay(one, index + 1)),
    [uri],
  )
  return service
}

describe('a statement laid over a course', () => {
  it.each<[name: string, statement: string, course: string]>([
    ['the step of its load', 'work 50 s', 'idle 20 s; fault fan 50 %; work 50 s; idle 10 s'],
    ['the first step of a load that stands twice', 'idle 5 s', 'idle 5 s; fault fan 50 %; work 30 s; idle 10 s'],
    ['the next step behind one', 'work 30 s; idle 40 s', 'idle 20 s; fault fan 50 %; work 30 s; idle 40 s'],
    [
      'what a step waits for',
      'idle until die >= 22 °C within 15 s',
      'idle until die >= 22 °C within 15 s; fault fan 50 %; work 30 s; idle 10 s',
    ],
    ['a fault of the same word', 'fault fan 10 %', 'idle 20 s; fault fan 10 %; work 30 s; idle 10 s'],
    [
      'a fault that is not there, from the beginning',
      'fault radiator 300 %',
      'fault radiator 300 %; idle 20 s; fault fan 50 %; work 30 s; idle 10 s',
    ],
    [
      'a fault before the step that stands below it',
      'fault radiator 300 %; work 30 s',
      'idle 20 s; fault fan 50 %; fault radiator 300 %; work 30 s; idle 10 s',
    ],
    [
      'a new step behind the one above it',
      'work 30 s; pair 5 s; pair 6 s',
      'idle 20 s; fault fan 50 %; work 30 s; pair 5 s; pair 6 s; idle 10 s',
    ],
    ['a new step at the end', 'pair 5 s', 'idle 20 s; fault fan 50 %; work 30 s; idle 10 s; pair 5 s'],
    ['where it starts', 'start settled work', 'start settled work; idle 20 s; fault fan 50 %; work 30 s; idle 10 s'],
    [
      'where it starts, and a fault from there on',
      'start settled pair; fault radiator 200 %; idle 15 s',
      'start settled pair; fault radiator 200 %; idle 15 s; fault fan 50 %; work 30 s; idle 10 s',
    ],
  ])('takes %s', async (_, statement, course) => {
    const laid = await overlaid(`course evening { ${statement} }`)
    const written = await load(text.replace(evening, `course evening { ${course} }\n`))
    const now = followed(laid)
    const lineless = (one: ReturnType<typeof followed>) => one.steps
    expect(now.undecided).toBeUndefined()
    expect(lineless(now)).toEqual(lineless(followed(written)))
    expect(lineless(now)).not.toEqual(lineless(followed(await load(text))))
  })

  it('takes the later over the earlier, and replaces a start that is there', async () => {
    const laid = await overlaid('course evening { start room }', 'course evening { start settled work; work 40 s }')
    const written = await load(
      text.replace(evening, evening.replace('{\n', '{\n  start settled work\n').replace('30 s', '40 s')),
    )
    expect(followed(laid)).toEqual(followed(written))
  })

  it('is a course of its own under a new name', async () => {
    const laid = await overlaid('course morning { start room; pair 15 s }')
    const written = await load(`${text}\ncourse morning { start room; pair 15 s }\n`)
    expect(followed(laid, 'morning')).toEqual(followed(written, 'morning'))
    expect(followed(laid)).toEqual(followed(await load(text)))
  })

  it('knows which of its lines is from where', async () => {
    const service = await overlaid('vector -1x', 'course evening {\n  fault radiator 300 %\n  work 50 s\n}')
    const document = service.workspace.document(uri)
    if (document === undefined) throw new Error('not loaded')
    const now = document.source.text
    const at = (mark: string) => shownPlace(document, now.indexOf(mark, now.indexOf('course evening')))
    expect(at('fault radiator')).toEqual({ uri, overlay: 2, line: 2, column: 3 })
    expect(at('work 50 s')).toEqual({ uri, overlay: 2, line: 3, column: 3 })
    const lineOf = (mark: string) => text.slice(0, text.indexOf(mark)).split('\n').length
    expect(at('idle 10 s')).toEqual({ uri, overlay: undefined, line: lineOf('idle 10 s'), column: 3 })
  })
})
