import { describe, expect, it } from 'vitest'
import { lex, stringText } from '../../grammar/tokens.ts'

/** Tokens as `kind:text`, with ` -> spelling` where the formatter writes another, joined by two spaces. */
function tokens(text: string): string {
  return lex(text)
    .tokens.map(
      token =>
        `${token.kind}:${token.kind === 'newline' ? '' : token.text}${token.canonical === token.text ? '' : ` -> ${token.canonical}`}`,
    )
    .join('  ')
}

/** Problems as `reason "text" -> fix`. */
function problems(text: string): string[] {
  return lex(text).problems.map(
    ({ reason, start, end, replacement }) =>
      `${reason} ${JSON.stringify(text.slice(start, end))}${replacement === undefined ? '' : ` -> ${replacement}`}`,
  )
}

function check(text: string, expected: string): void {
  expect(tokens(text)).toBe(expected)
  expect(problems(text)).toEqual([])
}

describe('numbers', () => {
  it('are unsigned digits with a point', () => {
    check('12 0.980 007', 'number:12  number:0.980  number:007')
    check('-1x', 'sign:-  number:1  unit:x')
  })

  it.each([
    ['1,5', 'decimal-comma "1,5" -> 1.5'],
    ['.5', 'bare-point ".5" -> 0.5'],
    [',5', 'bare-point ",5" -> 0.5'],
    ['5.', 'trailing-point "5." -> 5'],
    ['5,', 'trailing-point "5," -> 5'],
    ['2e3', 'exponent "2e3" -> 2000'],
    ['2E-3', 'exponent "2E-3" -> 0.002'],
    ['1e400', 'exponent "1e400"'],
    ['1,234.5', 'separator-in-number "1,234.5"'],
    ['1.2.3', 'separator-in-number "1.2.3"'],
  ])('%s is one finding', (text, problem) => {
    expect(problems(`cores ${text} W`)).toEqual([problem])
    expect(lex(`cores ${text} W`).tokens.map(token => token.kind)).toEqual(['word', 'number', 'unit'])
  })

  it('do not end in an exponent where a word follows', () => {
    check('2 e3', 'number:2  word:e3')
  })
})

describe('units', () => {
  it('are the next word if the table knows it, with or without a space', () => {
    check(
      '100 MHz 100MHz 0.4mV/K 5 %',
      'number:100  unit:MHz  number:100  unit:MHz  number:0.4  unit:mV/K  number:5  unit:%',
    )
    check('12 cores 3 to 6', 'number:12  word:cores  number:3  word:to  number:6')
  })

  it('are read only behind a number', () => {
    check('s min h', 'word:s  word:min  word:h')
    check('1\nh', 'number:1  newline:  word:h')
  })

  it('are case-sensitive', () => {
    expect(tokens('1 MV 1 mhz')).toBe('number:1  word:MV  number:1  word:mhz')
    expect(problems('1 MV 1 mhz')).toEqual(['malformed-word "MV" -> mV'])
  })

  it('end where the word ends', () => {
    check('5 min-power 5 hold', 'number:5  word:min-power  number:5  word:hold')
    check('38 °C-1x', 'number:38  unit:°C  sign:-  number:1  unit:x')
    expect(tokens('1 Watt')).toBe('number:1  word:Watt')
  })

  it.each([
    ['100 Mhz', 'MHz'],
    ['1 MV', 'mV'],
    ['45 C', '°C'],
  ])('%s is reported as the unit that was meant', (text, unit) => {
    expect(problems(text)[0]).toMatch(new RegExp(`^malformed-word .* -> ${unit}$`))
  })
})

describe('the unit x', () => {
  it('ends at any non-letter', () => {
    check('57x', 'number:57  unit:x')
    check('57x-1x', 'number:57  unit:x  sign:-  number:1  unit:x')
    check('57x1.2 V', 'number:57  unit:x  number:1.2  unit:V')
    check('57x;58 x}', 'number:57  unit:x  separator:;  number:58  unit:x  close:}')
    check('57 xy', 'number:57  word:xy')
  })
})

describe('signs', () => {
  it('are tokens of their own', () => {
    check('needs + 10 mV', 'word:needs  sign:+  number:10  unit:mV')
    check('a - b', 'word:a  sign:-  word:b')
  })

  it('are read in every spelling', () => {
    check('\u22122x', 'sign:\u2212 -> -  number:2  unit:x')
    check('1 +- 2 ± 3', 'number:1  plus-minus:+- -> ±  number:2  plus-minus:±  number:3')
    check('1 +\u2212 2', 'number:1  plus-minus:+\u2212 -> ±  number:2')
    check(
      '≥ ≤ >= <= < > =',
      'compare:≥ -> >=  compare:≤ -> <=  compare:>=  compare:<=  compare:<  compare:>  compare:=',
    )
  })
})

describe('names', () => {
  it('are lower-case words with hyphens', () => {
    check('sample-b7 a1-2-c', 'word:sample-b7  word:a1-2-c')
  })

  it.each([
    ['Sample', 'malformed-word "Sample" -> sample'],
    ['my_part', 'malformed-word "my_part" -> my-part'],
    ['grün', 'malformed-word "grün"'],
    ['_a', 'malformed-word "_a"'],
  ])('%s is one finding', (text, problem) => {
    expect(problems(text)).toEqual([problem])
    expect(lex(text).tokens.map(token => token.kind)).toEqual(['word'])
  })

  it('end before a hyphen that nothing follows', () => {
    check('sample- b', 'word:sample  sign:-  word:b')
    check('a--b', 'word:a  sign:-  sign:-  word:b')
  })

  it('are spelled core behind a one', () => {
    check(
      '1 cores 2 cores 1 to 1 cores',
      'number:1  word:cores -> core  number:2  word:cores  number:1  word:to  number:1  word:cores -> core',
    )
    check('cores 1\ncores 2', 'word:cores  number:1  newline:  word:cores  number:2')
  })
})

describe('dates and times', () => {
  it('are single tokens', () => {
    check('2026-03-01 12:30', 'date:2026-03-01  time:12:30')
    check('2026-03-011', 'number:2026  sign:-  number:03  sign:-  number:011')
  })
})

describe('strings', () => {
  it('have no escapes but a doubled quote', () => {
    check('"a # { ; b" "" "say ""yes"""', 'string:"a # { ; b"  string:""  string:"say ""yes"""')
    expect(lex('"say ""yes"""').tokens.map(stringText)).toEqual(['say "yes"'])
    expect(lex('"a\\"').tokens.map(stringText)).toEqual(['a\\'])
  })

  it('end at the end of the line', () => {
    expect(tokens('note "open\nnote "b"')).toBe('word:note  string:"open  newline:  word:note  string:"b"')
    expect(problems('note "open  \r\n')).toEqual(['unclosed-string "\\"open  " -> "open"'])
    expect(problems('note "open""')).toEqual(['unclosed-string "\\"open\\"\\"" -> "open"""'])
    expect(problems('note "')).toEqual(['unclosed-string "\\"" -> ""'])
    expect(lex('"open').tokens.map(stringText)).toEqual(['open'])
  })
})

describe('white space and line ends', () => {
  it('reads no-break spaces and tabs as spaces', () => {
    check('1\u00a0V\t2\u202fK\u20093 A', 'number:1  unit:V  number:2  unit:K  number:3  unit:A')
  })

  it('drops a byte order mark', () => {
    check('\ufeffdetent 1', 'word:detent  number:1')
  })

  it('reads every line end', () => {
    check('a\r\nb\nc\rd', 'word:a  newline:  word:b  newline:  word:c  newline:  word:d')
  })

  it('takes a line separator of Unicode for no line end', () => {
    expect(tokens('a \u2028 b')).toBe('word:a  unknown:\u2028  word:b')
  })

  it('keeps comments up to the line end', () => {
    check('a # b "c" {\r\nd', 'word:a  comment:# b "c" {  newline:  word:d')
  })
})

describe('offsets', () => {
  it('count UTF-16 units', () => {
    const text = '"😀" 5 °C 3 µV 2 Ω'
    const starts = lex(text).tokens.map(token => [token.text, token.start, token.end])
    expect(starts).toEqual([
      ['"😀"', 0, 4],
      ['5', 5, 6],
      ['°C', 7, 9],
      ['3', 10, 11],
      ['µV', 12, 14],
      ['2', 15, 16],
      ['Ω', 17, 18],
    ])
  })

  it('never part a surrogate pair', () => {
    expect(lex('a 😀😀 b').tokens.map(token => [token.kind, token.start, token.end])).toEqual([
      ['word', 0, 1],
      ['unknown', 2, 6],
      ['word', 7, 8],
    ])
    expect(lex('\ud83d x').tokens.map(token => token.kind)).toEqual(['unknown', 'word'])
  })
})

describe('characters outside the language', () => {
  it.each(['@', '(', '\u0000', '\ud800', '.', '²', '/'])('%j is one finding', text => {
    expect(problems(`a ${text} b`)).toEqual([`unknown-character ${JSON.stringify(text)}`])
  })
})
