/**
 * The parser of the generic grammar: statements of items, optionally with a block. It runs on a stream whose
 * braces the layout has balanced, so that any text gives a tree.
 */

import { createToken, EmbeddedActionsParser, EOF, type IToken, type TokenType } from 'chevrotain'
import { type LayoutToken, layOut } from './layout.ts'
import { lex, stringText } from './tokens.ts'
import type { Block, Chunk, Item, Statement, SyntaxProblem, Token, TokenKind } from './tree.ts'

type StreamToken = IToken & { readonly own: Token; readonly virtual: boolean }

const typed = (name: TokenKind): TokenType => createToken({ name })

/** The parser's names of what the lexer finds; braces may be virtual, which the layout adds where one was lost. */
const tokenTypes = {
  newline: typed('newline'),
  comment: typed('comment'),
  string: typed('string'),
  date: typed('date'),
  time: typed('time'),
  unit: typed('unit'),
  number: typed('number'),
  'plus-minus': typed('plus-minus'),
  compare: typed('compare'),
  sign: typed('sign'),
  word: typed('word'),
  open: typed('open'),
  close: typed('close'),
  separator: typed('separator'),
  unknown: typed('unknown'),
} as const satisfies Record<TokenKind, TokenType>

/** A number's digits as a double. A malformed number is read as what was evidently meant, or as NaN. */
function numberValue(text: string): number {
  if (/^\d+,\d+$/.test(text)) return Number(text.replace(',', '.'))
  if (/^[.,]\d+$/.test(text)) return Number(`0.${text.slice(1)}`)
  if (/^\d+(?:\.\d+)?[.,]$/.test(text)) return Number(text.slice(0, -1))
  return Number(text)
}

function itemOf(token: Token, unit: Token | undefined): Item {
  const { start, text } = token
  const end = (unit ?? token).end
  switch (token.kind) {
    case 'word':
      return { kind: 'word', text, start, end }
    case 'number':
      return { kind: 'number', value: numberValue(text), number: token, unit, start, end }
    case 'sign':
      return { kind: 'sign', sign: token.canonical as '+' | '-', start, end }
    case 'plus-minus':
      return { kind: 'plus-minus', start, end }
    case 'compare':
      return { kind: 'compare', operator: token.canonical, start, end }
    case 'string':
      return { kind: 'string', text: stringText(token), start, end }
    case 'date':
      return { kind: 'date', text, start, end }
    case 'time':
      return { kind: 'time', text, start, end }
    case 'unit':
      return { kind: 'unit', text: token.canonical, start, end }
    default:
      return { kind: 'unknown', text, start, end }
  }
}

const itemTypes = ['word', 'string', 'sign', 'plus-minus', 'compare', 'date', 'time', 'unknown', 'unit'] as const

class StatementParser extends EmbeddedActionsParser {
  readonly chunk: (idxInCallingRule?: number, ...args: unknown[]) => Statement[]

  constructor() {
    super([...Object.values(tokenTypes)], { recoveryEnabled: false, maxLookahead: 1, skipValidations: false })
    const own = (token: IToken): Token => (token as StreamToken).own

    // Alternatives that close over nothing of one run are made once: a rule is run for every item of a text.
    const itemAlternatives = [
      {
        ALT: (): Item => {
          const number = own(this.CONSUME(tokenTypes.number))
          const unit = this.OPTION(takeUnit)
          return this.ACTION(() => itemOf(number, unit))
        },
      },
      ...itemTypes.map((kind, index) => ({
        ALT: (): Item => {
          const token = own(this.consume(index + 1, tokenTypes[kind] as TokenType))
          return this.ACTION(() => itemOf(token, undefined))
        },
      })),
    ]
    const takeUnit = (): Token => own(this.CONSUME1(tokenTypes.unit))
    const item = this.RULE('item', (): Item => this.OR(itemAlternatives))

    const statement: (idx?: number) => Statement = this.RULE('statement', (): Statement => {
      const items: Item[] = []
      let body: Block | undefined
      this.OR([
        {
          ALT: () => {
            this.AT_LEAST_ONE(() => {
              const next = this.SUBRULE(item)
              this.ACTION(() => items.push(next))
            })
            this.OPTION(() => {
              body = this.SUBRULE(block)
            })
          },
        },
        {
          ALT: () => {
            body = this.SUBRULE2(block)
          },
        },
      ])
      return this.ACTION(() => {
        const start = items[0]?.start ?? (body as Block).start
        const end = body?.end ?? (items[items.length - 1] as Item).end
        return { items, block: body, start, end }
      })
    })

    const body: (idx?: number) => Statement[] = this.RULE('body', (): Statement[] => {
      const statements: Statement[] = []
      this.MANY(() => {
        this.OR([
          { ALT: () => this.CONSUME(tokenTypes.newline) },
          { ALT: () => this.CONSUME(tokenTypes.separator) },
          {
            ALT: () => {
              const next = this.SUBRULE(statement)
              this.ACTION(() => statements.push(next))
            },
          },
        ])
      })
      return statements
    })

    const block: (idx?: number) => Block = this.RULE('block', (): Block => {
      const open = this.CONSUME(tokenTypes.open) as StreamToken
      const statements = this.SUBRULE(body)
      const close = this.CONSUME(tokenTypes.close) as StreamToken
      return this.ACTION(() => ({
        open: open.virtual ? undefined : open.own,
        close: close.virtual ? undefined : close.own,
        statements,
        start: open.own.start,
        end: close.own.end,
      }))
    })

    this.chunk = this.RULE('chunk', (): Statement[] => {
      const statements = this.SUBRULE(body)
      this.CONSUME(EOF)
      return statements
    })
    this.performSelfAnalysis()
  }
}

/** One parser serves all: it keeps no state between runs. */
const parser = new StatementParser()

function toStream(layout: readonly LayoutToken[]): StreamToken[] {
  const stream: StreamToken[] = []
  for (const { token, role } of layout) {
    if (role === 'stray' || token.kind === 'comment') continue
    const type = tokenTypes[token.kind]
    stream.push({
      image: token.text,
      startOffset: token.start,
      endOffset: token.end - 1,
      tokenType: type,
      tokenTypeIdx: type.tokenTypeIdx as number,
      own: token,
      virtual: role === 'virtual',
    } as StreamToken)
  }
  return stream
}

/** Two statements that share a line without `;` between them, and blocks that nothing heads. */
function separationProblems(stream: readonly StreamToken[]): SyntaxProblem[] {
  const problems: SyntaxProblem[] = []
  const starters = new Set<string>(['number', ...itemTypes])
  stream.forEach((token, index) => {
    const before = stream[index - 1]
    if (before === undefined) {
      if (token.own.kind === 'open')
        problems.push({ reason: 'block-without-head', start: token.own.start, end: token.own.end })
      return
    }
    const { start, end, kind } = token.own
    if (before.own.kind === 'close' && starters.has(kind) && !before.virtual)
      problems.push({ reason: 'missing-line-end', start, end })
    const headless = ['open', 'close', 'newline', 'separator'].includes(before.own.kind)
    if (kind === 'open' && headless) problems.push({ reason: 'block-without-head', start, end })
  })
  return problems
}

/**
 * Parses the text of one chunk. Never throws: any text gives a tree and a list of problems.
 * @param opensBlock tells which words open blocks, to fix lost braces.
 */
export function parseChunk(text: string, opensBlock: (first: string, second: string | undefined) => boolean): Chunk {
  const { tokens, problems } = lex(text)
  const layout = layOut(text, tokens, opensBlock)
  const stream = toStream(layout.stream)
  parser.input = stream
  const statements = parser.chunk()
  const failure = parser.errors[0]
  if (failure !== undefined) throw new Error(`The balanced stream did not parse: ${failure.message}`)
  const all = [...problems, ...layout.problems, ...separationProblems(stream)].sort((a, b) => a.start - b.start)
  return { text, tokens, statements, problems: all }
}
