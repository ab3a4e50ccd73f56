import { describe, expect, it } from 'vitest'
import { LayoutError, newCheck } from '../../client/scripts/new.ts'
import { parseFile } from '../../grammar/file.ts'
import { format } from '../../grammar/printer.ts'

describe('a new check', () => {
  const files = newCheck('cooling/sample-check')

  it('is its file, a line in its folder, an example and a test', () => {
    expect([...files.keys()]).toEqual([
      'server/checks/cooling/sample-check.ts',
      'server/checks/cooling/index.ts',
      'grammar/examples/faulty/sample-check.detent',
      'tests/checks/sample-check.test.ts',
    ])
  })

  it('stands last in the list, and its import among the others by name', () => {
    const index = files.get('server/checks/cooling/index.ts') ?? ''
    expect(index).toMatch(
      /runaway-near\.ts'\nimport \{ sampleCheck \} from '\.\/sample-check\.ts'\nimport \{ thermalRunaway \}/,
    )
    expect(index).toMatch(/,\n {2}sampleCheck,\n\]\n$/)
  })

  it('has a formatted example that marks its finding, and no other', () => {
    const example = files.get('grammar/examples/faulty/sample-check.detent') ?? ''
    expect(example.match(/# finds: .*/g)).toEqual(['# finds: sample-check'])
    expect(format(parseFile(example))).toBe(example)
  })

  it.each([
    'sample-check',
    'coolers/sample-check',
    'cooling/hose',
    'cooling/Hose-Wet',
    'cooling/frost',
    'cooling/sample-check/more',
  ])('is refused under the name %s', name => {
    expect(() => newCheck(name)).toThrow(LayoutError)
  })

  it('is refused under a code that is taken', () => {
    expect(() => newCheck('cooling/fan-falling')).toThrow('There is a check fan-falling already.')
  })
})
