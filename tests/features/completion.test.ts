import { describe, expect, it } from 'vitest'
import { parseFile } from '../../grammar/file.ts'
import { matchChunk } from '../../grammar/match.ts'
import { vocabulary } from '../../grammar/vocabulary/index.ts'
import { insertionOf } from '../../server/features/completion/snippet.ts'
import type { Completion, CompletionTrigger } from '../../server/features/completion/types.ts'
import { loadAtCursor, loadFixture, uriOf } from '../harness/fixture.ts'
import { workOf } from '../harness/work.ts'
import { bench, part } from './bench.ts'

async function offered(text: string, trigger: CompletionTrigger = 'invoked'): Promise<readonly Completion[]> {
  const { service, cursor } = await loadAtCursor(text)
  return service.features.completions(cursor.uri, cursor.offset, trigger)
}

async function labels(text: string, trigger?: CompletionTrigger): Promise<readonly string[]> {
  return [...(await offered(text, trigger))].sort((a, b) => a.rank - b.rank).map(one => one.label)
}

/** The fixture's text after the item with this label was accepted, plain. */
async function accepted(text: string, label: string): Promise<string> {
  const loaded = await loadAtCursor(text)
  const { uri, offset } = loaded.cursor
  const item = loaded.service.features.completions(uri, offset, 'invoked').find(one => one.label === label)
  if (item === undefined) throw new Error(`${label} is not offered`)
  const edits = [{ start: item.start, end: item.end, text: item.text }, ...(item.more ?? [])]
  return edits
    .sort((a, b) => b.start - a.start)
    .reduce((all, edit) => all.slice(0, edit.start) + edit.text + all.slice(edit.end), loaded.text(uri))
}

describe('key words', () => {
  it('are those of the place, required ones first', async () => {
    const all = await labels('room r {\n  $0\n}\n')
    expect(all.slice(0, 2)).toEqual(['air', 'humidity'])
    expect(all).toContain('note')
    expect(all).not.toContain('cores')
  })

  it('leave out what the block already has, and keep what may stand again', async () => {
    const all = await labels('room r {\n  air 20 °C\n  note "a"\n  $0\n}\n')
    expect(all).not.toContain('air')
    expect(all).toContain('note')
  })

  it('are there while one is being typed, also in a block that is not closed', async () => {
    expect(await labels('room r {\n  hu$0\n')).toContain('humidity')
  })

  it('of a cooler are those of its kind', async () => {
    const chilled = await labels('cooler c kind chilled {\n  $0\n}\n')
    expect(chilled).toContain('capacity')
    expect(chilled).not.toContain('modules')
    expect(await labels('cooler c kind thermoelectric {\n  $0\n}\n')).toContain('modules')
  })

  it('at the top are the definitions', async () => {
    expect(await labels('$0')).toEqual(expect.arrayContaining(['detent', 'use', 'part', 'profile', 'load']))
  })

  it('replace the word that is being typed', async () => {
    expect(await accepted('room r {\n  hu$0\n}\n', 'humidity')).toBe('room r {\n  humidity \n}\n')
  })
})

describe('snippets', () => {
  /** A snippet with the first suggestion of each of its places. */
  const filled = (snippet: string): string =>
    snippet
      .replace(/\$\{\d+\|([^,|}]*)[^}]*\|\}/g, '$1')
      .replace(/\$\{\d+:([^}]*)\}/g, '$1')
      .replace('$0', '')

  const single = vocabulary.filter(word => word.word !== '' && word.block === undefined)
  it.each(single.map(word => [`${word.in[0]} ${word.word}`, word] as const))(
    'of %s read as the word wants',
    (_name, word) => {
      const { snippet } = insertionOf(word, word.in[0] ?? 'file', () => [])
      expect(filled(snippet)).toBe(word.example)
    },
  )

  const definitions = vocabulary.filter(word => word.block !== undefined && word.in.includes('file'))
  it.each(definitions.map(word => [word.word, word] as const))('of %s open a block', (_name, word) => {
    const text = filled(insertionOf(word, 'file', () => []).snippet).replace('\t', '  ')
    const { chunk } = parseFile(text).chunks[0] ?? { chunk: undefined }
    expect(chunk?.problems).toEqual([])
    expect(chunk && matchChunk(chunk)[0]?.sound).toBe(true)
  })

  it('offer the names that there are', async () => {
    const items = await offered(`${part}profile q {\n  $0\n}\n`)
    expect(items.find(one => one.label === 'part')?.snippet).toBe(`part \${1|sample-b7|}`)
  })
})

describe('values', () => {
  it.each([
    ['room r {\n  air 20$0\n}\n', ['°C']],
    ['room r {\n  air 20 $0\n}\n', ['°C']],
    ['part p {\n  switching 2.1 $0\n}\n', ['nF', 'µF', 'pF']],
    ['part p {\n  reference 100 M$0\n}\n', ['GHz', 'MHz', 'kHz', 'Hz']],
    ['profile q {\n  steps {\n    1 to 2 cores 57$0\n  }\n}\n', ['x']],
    ['profile q {\n  limits {\n    sustained-power 190 W over 30 $0\n  }\n}\n', ['s', 'ms', 'min', 'h']],
    ['part p { needs-slope 0.4 $0 }\n', ['V/K', 'mV/K', 'µV/K']],
    ['room r {\n  air 18 °C to 24 $0\n}\n', ['°C']],
    ['profile q {\n  voltage { core needs + 10 $0 }\n}\n', ['V', 'mV', 'µV']],
    ['part p { known {\n    4.7 GHz 1.236 V 192 W 76 $0\n  } }\n', ['°C']],
    ['part p { known {\n    4.7 GHz 192 W coolant 29 $0\n  } }\n', ['°C']],
  ])('units of the dimension that is wanted: %j', async (text, units) => {
    expect(await labels(text)).toEqual(units)
  })

  it('units of every reading that a point may still have', async () => {
    const some = await labels('part p { known {\n    4.7 GHz 192 $0\n  } }\n')
    expect(some).toEqual(expect.arrayContaining(['V', 'mV', 'W', 'kW', '°C']))
    expect(some).not.toContain('GHz')
  })

  it('a unit takes its space along, a ratio none', async () => {
    expect(await accepted('room r {\n  air 20$0\n}\n', '°C')).toContain('air 20 °C')
    expect(await accepted('profile q {\n  vector -2$0\n}\n', 'x')).toContain('vector -2x')
    expect(await accepted('part p {\n  reference 100 M$0\n}\n', 'MHz')).toContain('reference 100 MHz\n')
  })

  it.each([
    ['room r {\n  air 18 °C $0\n}\n', ['to']],
    ['profile q {\n  drive $0\n}\n', ['dew', 'hold', 'fixed', 'supply', 'pulsed', 'full', 'off']],
    ['profile q {\n  drive dew $0\n}\n', ['+']],
    ['profile q {\n  steps {\n    1 $0\n  }\n}\n', ['to', 'cores', 'core']],
    ['profile q {\n  limits { sustained-power 190 W $0 }\n}\n', ['over']],
    ['cooler c kind $0', ['air', 'loop', 'chilled', 'thermoelectric']],
    ['cooler c kind loop {\n  insulated $0\n}\n', ['yes', 'no']],
    ['profile q {\n  bands {\n    1 to 2 cores $0\n  }\n}\n', ['above']],
    [
      'part p { known {\n    4.7 GHz vector 192 W $0\n  } }\n',
      ['cores', 'activity', 'coolant', 'plate', 'air', 'fan', '±'],
    ],
  ])('words that may follow: %j', async (text, words) => {
    expect(await labels(text)).toEqual(words)
  })

  it('nothing where the line has all it can hold, in comments and in free text', async () => {
    expect(await labels('room r {\n  air 18 °C to 24 °C $0\n}\n')).toEqual([])
    expect(await labels('room r {\n  # air $0\n}\n')).toEqual([])
    expect(await labels('room r {\n  note "air $0"\n}\n')).toEqual([])
  })

  it('a space at the beginning of a line brings nothing up', async () => {
    expect(await labels('room r {\n $0\n}\n', 'space')).toEqual([])
    expect(await labels('room r {\n  air 20 $0\n}\n', 'space')).toEqual(['°C'])
  })

  it('codes of checks and labels of a menu', async () => {
    expect(await labels('allow $0')).toContain('steps-gap')
    expect(await labels('board b {\n  menu {\n    $0\n  }\n}\n')).toContain('note')
    expect(await labels('board b {\n  menu {\n    core$0\n  }\n}\n')).toContain('core-voltage')
  })
})

describe('what no keyboard has', () => {
  /** The labels that an editor would leave in its list: those that have a way to go on from what is typed. */
  async function left(text: string): Promise<readonly string[]> {
    const loaded = await loadAtCursor(text)
    const { uri, offset } = loaded.cursor
    const items = loaded.service.features.completions(uri, offset, 'invoked')
    return items
      .filter(one => {
        const typed = loaded.text(uri).slice(one.start, offset).toLowerCase()
        return (one.filterText ?? one.label)
          .toLowerCase()
          .split(' ')
          .some(way => way.startsWith(typed))
      })
      .map(one => one.label)
  }

  it.each([
    ['room r {\n  air 95 $0\n}\n', '°C'],
    ['room r {\n  air 95 °$0\n}\n', '°C'],
    ['room r {\n  air 95°$0\n}\n', '°C'],
    ['room r {\n  air 95 d$0\n}\n', '°C'],
    ['room r {\n  air 95 deg$0\n}\n', '°C'],
    ['room r {\n  air 95 C$0\n}\n', '°C'],
    ['board b {\n  load-line 0.4 o$0\n}\n', 'Ω'],
    ['board b {\n  load-line 0.4 mo$0\n}\n', 'mΩ'],
    ['board b {\n  core-voltage-step 5 u$0\n}\n', 'µV'],
    ['board b {\n  core-voltage-step 5 µ$0\n}\n', 'µV'],
    ['part p {\n  switching 2.1 nF +$0\n}\n', '±'],
    ['part p {\n  switching 2.1 nF +-$0\n}\n', undefined],
  ])('is found by what is typed for it: %j', async (text, label) => {
    expect(await left(text)).toEqual(label === undefined ? [] : [label])
  })

  it('takes the place of what was typed', async () => {
    expect(await accepted('room r {\n  air 95 deg$0\n}\n', '°C')).toContain('air 95 °C\n')
    expect(await accepted('room r {\n  air 95 °$0\n}\n', '°C')).toContain('air 95 °C\n')
    expect(await accepted('part p {\n  switching 2.1 nF +$0\n}\n', '±')).toContain('2.1 nF ±\n')
  })

  it('is offered so that the spelling that was begun comes first, for editors that go by the beginning', async () => {
    expect((await offered('room r {\n  air 95 d$0\n}\n'))[0]?.filterText).toMatch(/^degC /)
    expect((await offered('room r {\n  humidity 45 $0\n}\n'))[0]?.filterText).toBeUndefined()
  })

  it('is not offered for a plus that is a sign', async () => {
    expect(await labels('profile q {\n  voltage { core needs +$0 }\n}\n')).toEqual([])
  })
})

describe('the version line', () => {
  it('has its number', async () => {
    expect(await labels('detent $0\n')).toEqual(['1'])
    expect(await labels('detent 1 $0\n')).toEqual([])
  })
})

describe('names', () => {
  const files = `--- bench.detent\n${bench}--- a.detent\ndetent 1\nuse "bench.detent"\n`

  it('are those of the kind, from this file and from those it uses', async () => {
    const text = `${files}room attic { air 20 °C; humidity 50 % }\nprofile q {\n  room $0\n}\n`
    expect(await labels(text)).toEqual(['attic', 'garage'])
  })

  it('of loads have the built-in ones too', async () => {
    expect(await labels(`${files}profile q {\n  expect $0\n}\n`)).toEqual(['render', 'pair', 'idle', 'off'])
  })

  it('of files that are not used yet bring their use line', async () => {
    const text = `--- sub/bench.detent\n${part}--- a.detent\ndetent 1   # first\n\nprofile q {\n  part $0\n}\n`
    expect(await accepted(text, 'sample-b7')).toBe(
      'detent 1   # first\nuse "sub/bench.detent"\n\nprofile q {\n  part sample-b7\n}\n',
    )
  })

  it('are documented by what they are', async () => {
    const { service, cursor } = await loadAtCursor(`${files}profile q {\n  part $0\n}\n`)
    const [item] = service.features.completions(cursor.uri, cursor.offset, 'invoked')
    expect(item?.topic).toBeDefined()
    expect(item?.topic && service.features.completionText(item.topic)).toContain('part **sample-b7**: 12 cores')
  })

  it('of files are offered in a use line, relative to the file', async () => {
    const text = `--- lib/bench.detent\n${part}--- mine/a.detent\ndetent 1\nuse "$0"\n`
    expect(await labels(text, 'quote')).toEqual(['../lib/bench.detent'])
    expect(await accepted(text, '../lib/bench.detent')).toContain('use "../lib/bench.detent"\n')
    const open = text.replace('"$0"', '"../$0')
    expect(await accepted(open, '../lib/bench.detent')).toContain('use "../lib/bench.detent"\n')
    const bare = text.replace('"$0"', '$0')
    expect(await labels(bare, 'space')).toEqual(['../lib/bench.detent'])
    expect(await accepted(bare, '../lib/bench.detent')).toContain('use "../lib/bench.detent"\n')
    expect(uriOf('mine/a.detent')).toContain('/mine/')
  })
})

describe('what would be an error at once is not offered', () => {
  const profile = (cooler: string, line: string): string =>
    `${bench}profile q {\n  part sample-b7\n  cooler ${cooler}\n  room garage\n  ${line}\n}\n`

  it('a profile that starts from itself, or from one that starts from it', async () => {
    const text = 'profile a { }\nprofile b based-on q { }\nprofile c based-on b { }\nprofile q based-on $0\n'
    expect(await labels(text)).toEqual(['a'])
    expect(await labels(`${text.replace('$0', 'a { }')}run r of $0`)).toEqual(['a', 'b', 'c', 'q'])
  })

  it('the version line anywhere but first', async () => {
    expect(await labels('$0')).toContain('detent')
    expect(await labels('# bench\n\nd$0')).toContain('detent')
    expect(await labels('room r { air 20 °C }\nl$0\nload a { cores 2 }\n')).not.toContain('detent')
    expect(await labels('d$0\ndetent 1\n')).not.toContain('detent')
    expect(await labels('room r { air 20 °C }\nl$0\n')).toContain('load')
  })

  it('`off` where the plate is not driven then', async () => {
    const driven = (when: string): string =>
      profile('te-plate', 'expect $0').replace('  modules 3', `  drive-when-off ${when}\n  modules 3`)
    expect(await labels(driven('yes'))).toContain('off')
    expect(await labels(driven('no'))).not.toContain('off')
    expect(await labels(profile('te-plate', 'expect $0'))).not.toContain('off')
    expect(await labels(profile('big-loop', 'expect $0'))).not.toContain('off')
    expect(await labels(profile('big-loop', 'expect $0'))).toContain('idle')
    const run = await labels(`${profile('big-loop', '')}run r of q under $0`)
    expect(run).toContain('idle')
    expect(run).not.toContain('off')
  })

  it('figures that the bench or the load does not have', async () => {
    expect(await labels(profile('te-plate', 'expect pair $0'))).toContain('drive-power')
    expect(await labels(profile('big-loop', 'expect pair $0'))).not.toContain('drive-power')
    expect(await labels(profile('big-loop', 'expect pair $0'))).toEqual(
      expect.arrayContaining(['holds', 'die', 'power']),
    )
    const idle = await labels(profile('big-loop', 'expect idle $0'))
    expect(idle).toEqual(expect.arrayContaining(['die', 'power']))
    expect(idle).not.toContain('holds')
  })
})

describe('the next row', () => {
  const profile = (inside: string): string =>
    inside.startsWith('part ') ? `${bench}${inside}\n` : `${bench}profile q {\n  part sample-b7\n  ${inside}\n}\n`

  it.each([
    ['steps {\n    1 to 2 cores 57x\n    $0\n  }', '3 to 12 cores 56x'],
    ['steps {\n    1 to 11 cores 50x\n    $0\n  }', '12 cores 49x'],
    ['steps {\n    $0\n  }', '1 to 12 cores 62x'],
    ['bands {\n    1 to 2 cores above 38 °C -1x\n    $0\n  }', '1 to 2 cores above 48 °C -2x'],
    ['fan {\n    24 °C 25 %\n    $0\n  }', '34 °C 50 %'],
    ['part p {\n  known {\n    5 GHz 1.3 V 290 W 81 °C\n    $0\n  }\n}', '5 GHz 1.3 V 290 W 81 °C air 22 °C'],
  ])('continues %j', async (inside, row) => {
    const [first] = [...(await offered(profile(inside)))].sort((a, b) => a.rank - b.rank)
    expect(first?.label).toBe(row)
    expect(first?.kind).toBe('row')
  })

  describe('of steps has the highest ratio that holds', () => {
    const limits = `  limits { die 85 °C; current 180 A; sustained-power 190 W }
  voltage { core needs + 10 mV }
`
    const steps = (rows: string, settings = limits): string => `${bench}load sweep { cores 1 to 12; vector yes }
profile q {
  part sample-b7
  cooler big-loop
  room garage
  vector -1x
${settings}  steps {
${rows}
  }
}
`
    /** What stands in the way of a ratio, found from the predictions of a profile that has it: of each load at each count. */
    async function obstacles(text: string): Promise<readonly string[]> {
      const { service } = await loadFixture(text)
      const uri = uriOf('a.detent')
      const [evaluation] = service.evaluations(uri)
      const limiters = (evaluation?.predictions ?? [])
        .filter(({ load }) => load.load.kind === 'work')
        .flatMap(({ settled: { state, limiter } }) =>
          state === 'steady' && ['step', 'vector', 'band'].includes(limiter) ? [] : [limiter],
        )
      const codes = service.findings(uri).map(({ finding }) => finding.code)
      const wrong = ['needs-short', 'voltage-short', 'voltage-range', 'ratio-range', 'steps-rising']
      return [...limiters, ...codes.filter(code => wrong.includes(code))]
    }
    const ratioIn = (label: string | undefined): number => Number(/(\d+)x$/.exec(label ?? '')?.[1])

    it.each([
      ['1 to 2 cores 57x\n', '3 to 12 cores', limits],
      ['1 to 2 cores 57x\n3 to 6 cores 53x\n', '7 to 12 cores', limits],
      ['1 to 2 cores 57x\n3 to 6 cores 53x\n', '7 to 12 cores', '  limits { current 120 A }\n'],
      ['1 to 2 cores 57x\n3 to 11 cores 46x\n', '12 cores', limits],
      ['1 to 2 cores 42x\n', '3 to 12 cores', limits],
      ['1 to 2 cores 57x\n', '3 to 12 cores', '  bands { 1 to 12 cores above 30 °C -1x }\n'],
      ['', '1 to 12 cores', '  voltage { core fixed 1.1 V }\n'],
      ['', '1 to 12 cores', limits],
    ])('after %j for %s with%s', async (before, counts, settings) => {
      const [row] = await offered(steps(`${before}$0`, settings))
      expect(row?.kind).toBe('row')
      expect(row?.label.startsWith(`${counts} `)).toBe(true)
      const ratio = ratioIn(row?.label)
      const others = before === '' ? '' : before
      expect(await obstacles(steps(`${others}${counts} ${ratio}x`, settings))).toEqual([])
      expect(await obstacles(steps(`${others}${counts} ${ratio + 1}x`, settings))).not.toEqual([])
      // The same where the core counts are written already.
      const [cell] = await offered(steps(`${others}${counts} $0`, settings), 'space')
      expect(cell?.label).toBe(`${ratio}x`)
      expect(cell?.detail).toBe(row?.detail)
      expect(await accepted(steps(`${others}${counts} $0`, settings), `${ratio}x`)).toContain(`${counts} ${ratio}x`)
    })

    it('says what a step more would meet', async () => {
      const detail = async (rows: string, settings?: string): Promise<string | undefined> =>
        (await offered(steps(rows, settings)))[0]?.detail
      expect(await detail('1 to 2 cores 57x\n3 to 12 cores $0')).toMatch(
        /^holds \(\d+x would not: (?:current|sustained power|die limit)\)$/,
      )
      expect(await detail('1 to 2 cores 42x\n3 to 12 cores $0')).toBe('holds (as fast as fewer cores)')
      expect(await detail('1 core $0', '  voltage { core needs }\n')).toBe(
        'holds (58x would not: more than was measured)',
      )
    })

    it('says that bands act where they give some of it back', async () => {
      const bands = '  bands { 1 to 12 cores above 30 °C -1x }\n'
      expect((await offered(steps('1 to 2 cores 57x\n3 to 12 cores $0', bands)))[0]?.detail).toMatch(/^bands act \(/)
    })

    it('fills a gap between rows', async () => {
      const [row] = await offered(steps('1 to 2 cores 57x\n$0\n7 to 12 cores 40x'))
      expect(row?.label).toMatch(/^3 to 6 cores \d+x$/)
    })

    it('is not offered for core counts that the part does not have', async () => {
      expect(await labels(steps('1 to 20 cores $0'))).toEqual([])
    })

    it.each([
      ['  limits { current 1 A }\n', 'none holds (current)'],
      ['  voltage { core needs - 200 mV }\n', 'none holds (too little voltage)'],
    ])('is left out where none holds, and says why: %s', async (settings, why) => {
      const [row] = await offered(steps('1 to 2 cores 57x\n$0', settings))
      expect(row).toMatchObject({ label: '3 to 12 cores', text: '3 to 12 cores ', detail: why })
      const [cell, ...more] = await offered(steps('3 to 12 cores $0', settings))
      expect(cell).toMatchObject({ kind: 'row', text: '', detail: why })
      expect(more).toEqual([])
    })

    it('is left out where the part needs more under vector loads than a profile without voltages gives', async () => {
      const text = steps('1 to 2 cores 57x\n3 to 12 cores $0', '')
      expect((await offered(text))[0]?.detail).toMatch(/^holds/)
      const needy = text.replace('cores 12\n', 'cores 12\n  vector-needs 15 mV\n')
      expect(needy).not.toBe(text)
      expect((await offered(needy))[0]).toMatchObject({
        text: '',
        detail: 'none holds (too little voltage under vector loads)',
      })
    })

    it('takes no more work than to check the profile', async () => {
      const marked = steps('1 to 2 cores 57x\n3 to 12 cores $0')
      const text = marked.replace('$0', '')
      const jobs = [{ what: 'check', text } as const, { what: 'complete', text, offset: marked.indexOf('$0') } as const]
      const [check = 0, complete = Number.NaN] = await workOf(jobs)
      expect(complete).toBeGreaterThan(1_000)
      expect(complete).toBeLessThan(check)
    })
  })

  it('of needs goes on as the last two went', async () => {
    expect((await labels('part p {\n  needs {\n    36x 0.980 V\n    44x 1.085 V\n    $0\n  }\n}\n'))[0]).toBe(
      '52x 1.190 V',
    )
  })

  it('is not offered where the table is complete', async () => {
    expect(
      (await offered(profile('steps {\n    1 to 12 cores 50x\n    $0\n  }'))).some(one => one.kind === 'row'),
    ).toBe(false)
  })
})
