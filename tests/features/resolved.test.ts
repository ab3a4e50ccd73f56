import { describe, expect, it } from 'vitest'
import { parseFile } from '../../grammar/file.ts'
import { format } from '../../grammar/printer.ts'
import { allFiguresOf, type Service } from '../../server/service.ts'
import { loadFixture, uriOf } from '../harness/fixture.ts'
import { railed, soundSteps, twoGroups } from '../harness/two-groups.ts'
import { bench } from './bench.ts'

const uri = uriOf('a.detent')

const base = `--- bench.detent
${bench}
--- base.detent
detent 1
use "bench.detent"

profile daily {
  part sample-b7; cooler big-loop
  room garage
  steps {
    1 to 2 cores   57x                  # found in spring
    3 to 12 cores 50 x
  }
  bands return 3 K { 1 to 12 cores above 60 degC -1x }
  voltage { core needs + 10 mV; set 57x 1.46 V }
  limits { die 90 °C; current 180 A }
  expect pair holds >= 5.0 GHz
  expect pair die <= 80 °C
  also { "memory clock" "3200 MT/s" }
}
--- a.detent
detent 1
use "base.detent"

profile night based-on daily {
  limits { die 80 °C }
  expect pair holds >= 4.0 GHz
  voltage { core needs }
  fan { 20 °C 30 %; 40 °C 100 % }
}
`

function figures(service: Service, name: string): unknown {
  return service
    .evaluations(uri)
    .filter(({ profile }) => profile.definition.name === name)
    .map(evaluation => [
      allFiguresOf(evaluation),
      service.expectations(evaluation).map(one => [one.text, one.predicted]),
    ])
}

/** A line's setting and what stands behind it. */
function settings(text: string): readonly (readonly string[])[] {
  return text
    .split('\n')
    .filter(line => /\S +# /.test(line))
    .map(line => line.split(/ +# /).map(part => part.trim()))
}

describe('a profile with all that it starts from', () => {
  it('has each setting that counts once, with where it is written', async () => {
    const { service, text } = await loadFixture(base)
    const resolved = service.features.resolved(uri, 'night') ?? ''
    const shown = new Map(settings(resolved).map(([setting = '', origin = '']) => [setting, origin]))
    const lineOf = (file: string, piece: string): number =>
      text(uriOf(file))
        .slice(0, text(uriOf(file)).indexOf(piece))
        .split('\n').length
    expect(shown.get('die 80 °C')).toBe(`night, line ${lineOf('a.detent', 'die 80')}`)
    expect(shown.get('current 180 A')).toBe(`daily, base.detent line ${lineOf('base.detent', 'current')}`)
    expect(shown.get('1 to 2 cores   57x')).toBe(`daily, base.detent line ${lineOf('base.detent', '1 to 2 cores')}`)
    expect(shown.get('core needs')).toMatch(/^night/)
    expect(shown.get('set 57x 1.46 V')).toMatch(/^daily/)
    expect(resolved).not.toContain('die 90 °C')
    expect(resolved).not.toContain('needs + 10 mV')
    expect(resolved.match(/expect pair holds/g)).toHaveLength(1)
  })

  it('is formatted, and every line of a setting says where it comes from', async () => {
    const { service } = await loadFixture(base)
    const resolved = service.features.resolved(uri, 'night') ?? ''
    expect(format(parseFile(resolved))).toBe(resolved)
    const lines = resolved.split('\n').slice(4)
    expect(lines.filter(line => !line.includes('#') && !/^\s*\}?$/.test(line))).toEqual([])
  })

  it('predicts what the profile predicts', async () => {
    const derived = await loadFixture(base)
    const resolved = (derived.service.features.resolved(uri, 'night') ?? '').replace(
      'detent 1\n',
      'detent 1\nuse "base.detent"\n',
    )
    const whole = await loadFixture(`${base.slice(0, base.indexOf('--- a.detent'))}--- a.detent\n${resolved}`)
    expect(whole.service.findings(uri).map(({ finding }) => finding.code)).not.toContain('syntax')
    const [before] = figures(derived.service, 'night') as [readonly [unknown, readonly (readonly string[])[]]]
    const [after] = figures(whole.service, 'night') as [readonly [unknown, readonly (readonly string[])[]]]
    expect(before[0]).not.toEqual([])
    expect(after[0]).toEqual(before[0])
    expect([...after[1]].sort()).toEqual([...before[1]].sort())
  })

  it('has what is set for one group of cores or one rail, each by itself', async () => {
    const day = railed(
      twoGroups(`${soundSteps}
  vector small -1x
  voltage {
    core needs + 40 mV
    core small needs + 15 mV
    set broad 53x 1.335 V
  }
  limits { current 150 A; current main 120 A }`),
    )
    const { service, text } = await loadFixture(`--- day.detent
${day}
--- a.detent
detent 1
use "day.detent"
profile night based-on day {
  steps broad { 1 to 4 cores 48x }
  voltage { core small needs + 20 mV }
}
`)
    const resolved = service.features.resolved(uri, 'night') ?? ''
    const narrow = (wide: string): string => wide.replace(/ +/g, ' ')
    const shown = new Map(settings(resolved).map(([setting = '', origin = '']) => [narrow(setting), origin]))
    const line = (piece: string): number => {
      const all = narrow(text(uriOf('day.detent')))
      return all.slice(0, all.indexOf(piece)).split('\n').length
    }
    expect(shown.get('1 to 4 cores 48x')).toBe('night, line 4')
    expect(shown.get('core small needs + 20 mV')).toBe('night, line 5')
    for (const setting of ['1 to 10 cores 40x', 'vector small -1x', 'core needs + 40 mV', 'set broad 53x 1.335 V'])
      expect(shown.get(setting), setting).toBe(`day, day.detent line ${line(setting)}`)
    expect([...shown.keys()].filter(setting => setting.startsWith('current'))).toEqual([
      'current 150 A',
      'current main 120 A',
    ])
    expect(resolved).not.toContain('1 to 2 cores')
    expect(resolved).not.toContain('15 mV')
    const own = resolved.replace('detent 1\n', 'detent 1\nuse "day.detent"\n')
    const whole = await loadFixture(`--- day.detent
${day}
--- a.detent
${own}`)
    expect(whole.service.findings(uri).map(({ finding }) => finding.message)).toEqual([])
    const predicted = figures(service, 'night')
    expect(predicted).toMatchObject([[expect.arrayContaining([expect.objectContaining({ cores: 14 })]), []]])
    expect(figures(whole.service, 'night')).toEqual(predicted)
  })

  it.each([
    ['profile night based-on nowhere { drive off }', 'starts from `nowhere`, which is not known'],
    ['profile night based-on night { drive off }', 'It starts from itself'],
    ['profile night { drive off }', 'which starts from no other'],
  ])('says so where the chain breaks: %s', async (source, words) => {
    const { service } = await loadFixture(`${source}\n`)
    expect(service.features.resolved(uri, 'night')).toContain(words)
    expect(service.features.resolved(uri, 'night')).toMatch(/^ {2}drive off +# night, line 1$/m)
  })

  it('is not there for a name that the file has not', async () => {
    const { service } = await loadFixture(base)
    expect(service.features.resolved(uri, 'daily')).toBeUndefined()
    expect(service.features.resolved(uriOf('other.detent'), 'daily')).toBeUndefined()
  })
})
