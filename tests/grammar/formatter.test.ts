import { describe, expect, it } from 'vitest'
import { parseFile } from '../../grammar/file.ts'
import { applyEdits, format, formatEdits } from '../../grammar/printer.ts'

/** Formats a text, and a second time, which must change nothing. */
function check(text: string, expected: string): void {
  const once = format(parseFile(text))
  expect(once).toBe(expected)
  expect(format(parseFile(once))).toBe(once)
}

describe('white space', () => {
  it('indents by two', () => {
    check(
      'part a {\ncores 4\n      needs {\n\t1x   1 V\n  }\n }\n',
      'part a {\n  cores 4\n  needs {\n    1x    1 V\n  }\n}\n',
    )
  })

  it('leaves none on blank lines and line ends', () => {
    check('part a {   \n  \t\n  cores 4  \n}  ', 'part a {\n\n  cores 4\n}')
  })

  it('drops a byte order mark and no-break spaces', () => {
    check('\ufeffdetent\u00a01\n', 'detent 1\n')
  })

  it('is spaces, also where a line of other white space is as wide', () => {
    check('room\tstudy {\n  air\t20 °C\n}\n', 'room study {\n  air 20 °C\n}\n')
    check('room study {\n \tair 20 °C\n}\n', 'room study {\n  air 20 °C\n}\n')
    check('room\u00a0study {\n\u00a0 air 20\u00a0°C\n}\n', 'room study {\n  air 20 °C\n}\n')
  })

  it('keeps line ends, and a file without one at its end', () => {
    check('part a {\r\ncores 4\r\n}', 'part a {\r\n  cores 4\r\n}')
  })

  it('never joins or splits lines', () => {
    check('load a {cores 2;activity 0.9}\n', 'load a { cores 2; activity 0.9 }\n')
    check('load a { cores 2\nactivity 0.9 }\n', 'load a { cores 2\n  activity 0.9 }\n')
    check('load a {\n cores 2 ; ; activity 0.9;\n}\n', 'load a {\n  cores 2;; activity 0.9;\n}\n')
  })
})

describe('spelling', () => {
  it('is brought to one', () => {
    check(
      'part a {\n  die-limit 98 degC\n  switching 2nF+-3%\n}\n',
      'part a {\n  die-limit 98 °C\n  switching 2 nF ± 3 %\n}\n',
    )
    check('profile a {\n  expect idle die≤85℃\n}\n', 'profile a {\n  expect idle die <= 85 °C\n}\n')
    check('board a {\n  load-line 0.4mohm\n}\n', 'board a {\n  load-line 0.4 mΩ\n}\n')
  })

  it('keeps digits', () => {
    check('part a {\n  cores 012\n  shared-power 14.00 W\n}\n', 'part a {\n  cores 012\n  shared-power 14.00 W\n}\n')
  })
})

describe('signs', () => {
  it('are spaced after needs and dew, else attached', () => {
    check(
      'profile a {\n  vector - 2x\n  voltage { core needs+10mV }\n  drive dew+2 K\n}\n',
      'profile a {\n  vector -2x\n  voltage { core needs + 10 mV }\n  drive dew + 2 K\n}\n',
    )
    check('room a {\n  air - 5 °C to 3 °C\n}\n', 'room a {\n  air -5 °C to 3 °C\n}\n')
  })
})

describe('tables', () => {
  it('have cells of minimum width', () => {
    check(
      'profile a {\n  steps {\n    1 cores 5x\n    10 to 12 cores 4x\n  }\n  bands {\n    1 core above 8 °C - 1x\n    1 to 2 cores above 38.25 °C -1x\n  }\n  fan {\n    8 °C 25 %\n  }\n}\n',
      [
        'profile a {',
        '  steps {',
        '    1 core         5x',
        '    10 to 12 cores 4x',
        '  }',
        '  bands {',
        '    1 core         above 8 °C   -1x',
        '    1 to 2 cores   above 38.25 °C -1x',
        '  }',
        '  fan {',
        '    8 °C    25 %',
        '  }',
        '}',
        '',
      ].join('\n'),
    )
  })

  it('let only the row with a longer cell move', () => {
    check(
      'profile a {\n  steps {\n    1000 to 1024 cores   5x\n    1 core 4x\n  }\n}\n',
      'profile a {\n  steps {\n    1000 to 1024 cores 5x\n    1 core         4x\n  }\n}\n',
    )
  })

  it('are not padded on one line', () => {
    check('part a { needs { 1x   1 V;   2x   1.1 V } }\n', 'part a { needs { 1x 1 V; 2x 1.1 V } }\n')
    check(
      'part a {\n  needs {\n    1x   1 V;   2x   1.1 V\n  }\n}\n',
      'part a {\n  needs {\n    1x 1 V; 2x 1.1 V\n  }\n}\n',
    )
  })
})

describe('comments', () => {
  it('start at offset 40, else 56, 72 and so on', () => {
    for (const [length, column] of [
      [10, 40],
      [38, 40],
      [39, 56],
      [54, 56],
      [55, 72],
      [70, 72],
      [71, 88],
    ] as const) {
      const line = `note "${'a'.repeat(length - 7)}"`
      check(`${line} # b\n`, `${line.padEnd(column)}# b\n`)
    }
  })

  it('stand at the depth of their block on a line of their own', () => {
    check(
      '#a\npart a { # b\n# c\n} # d\n',
      '#a\npart a {                                # b\n  # c\n}                                       # d\n',
    )
  })

  it('lose nothing but white space at their end', () => {
    check('# a\t  b \u00a0\n', '# a\t  b\n')
  })
})

describe('errors', () => {
  it('leave their line byte for byte, and only that', () => {
    check(
      'part a {\ncores   four # x\n     die-limit   98 °C\n}\n',
      'part a {\ncores   four # x\n  die-limit 98 °C\n}\n',
    )
    check('part a {\ncores   1,5\n     colour   98\n}\n', 'part a {\ncores   1,5\n     colour   98\n}\n')
    check('profile   a   base b {\ndrive    off\n}\n', 'profile   a   base b {\n  drive off\n}\n')
  })

  it('leave a definition whose braces do not balance, and format the others', () => {
    check('part a {\ncores   4\nload   b {\ncores   2\n}\n', 'part a {\ncores   4\nload b {\n  cores 2\n}\n')
  })

  it('keep line ends apart that white space parts', () => {
    check('part a {\r \n}\n', 'part a {\r \n}\n')
  })
})

describe('edits', () => {
  it('are one for each line that changes', () => {
    const text = 'part a {\n  cores 4\ndie-limit 98 °C\n}\n\nload b { cores  2 }\n'
    const edits = formatEdits(parseFile(text))
    expect(edits).toEqual([
      { start: 19, end: 34, text: '  die-limit 98 °C' },
      { start: 38, end: 57, text: 'load b { cores 2 }' },
    ])
    expect(applyEdits(text, edits)).toBe('part a {\n  cores 4\n  die-limit 98 °C\n}\n\nload b { cores 2 }\n')
  })
})

describe('rows whose items stand in any order', () => {
  it('keep their order, each item in the width of its kind', () => {
    check(
      'part a {\n  known {\n4.7GHz 1.236V 192 W 76°C vector\n5.10 GHz 1.29 V 74 W 58 °C cores 2 coolant 27 °C\nair 22 °C 3.6 GHz 92 W\n4.7 GHz+-1 % 1.2 V\n  }\n}\n',
      'part a {\n  known {\n    4.7 GHz   1.236 V  192 W  76 °C   vector\n    5.10 GHz  1.29 V   74 W   58 °C   cores 2  coolant 27 °C\n    air 22 °C  3.6 GHz   92 W\n    4.7 GHz ± 1 % 1.2 V\n  }\n}\n',
    )
    check('part a {\n  known { 192 W   76 °C }\n}\n', 'part a {\n  known { 192 W 76 °C }\n}\n')
  })
})

describe('names of groups and rails', () => {
  it('are one more item of the head, and move no column', () => {
    check(
      `part owl {
group  tall {cores 4
rail   side }
}
profile day {
steps   tall {
1 to 2 cores 57x
3 to 8 cores 54x
}
bands tall   return 3 K { 1 to 8 cores above 80 °C -1x }
vector  tall -1x
voltage {
core   tall needs+10 mV
set  tall   57x 1.370 V
}
expect game   holds tall>=4.2 GHz
}
`,
      `part owl {
  group tall { cores 4
    rail side }
}
profile day {
  steps tall {
    1 to 2 cores   57x
    3 to 8 cores   54x
  }
  bands tall return 3 K { 1 to 8 cores above 80 °C -1x }
  vector tall -1x
  voltage {
    core tall needs + 10 mV
    set tall 57x 1.370 V
  }
  expect game holds tall >= 4.2 GHz
}
`,
    )
  })
})
