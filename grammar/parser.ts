/**
 * The parser of the generic grammar: statements of items, optionally with a block. It runs on a stream whose
 * braces the layout has balanced, so that any text gives a tree.
 */

import { createToken, EmbeddedActionsParser, EOF, type IToken, type TokenType } from 'chevrotain'
import { isVirtual, layOut } from './layout.ts'
import { lex, stringText } from './tokens.ts'
import type { Block, Chunk, Item, Statement, SyntaxProblem, Token } from './tree.ts'

/** What the parser is given: the items of a statement together, and what stands between statements. */
type StreamToken = IToken & { readonly own: Token; readonly items: readonly Item[] }

/**
 * The parser's names of what it is given. Braces may be virtual, which the layout adds where one was lost. The end of a line
 * is given only where a block behind it would be taken for that of the line.
 */
const tokenTypes = {
  items: createToken({ name: 'items' }),
  end: createToken({ name: 'end' }),
  open: createToken({ name: 'open' }),
  close: createToken({ name: 'close' }),
}

/** A number's digits as a double. A malformed number is read as what was evidently meant, or as NaN. */
function numberValue(text: string): number {
  const read = Number(text)
  if (!Number.isNaN(read)) return read
  if (/^\d+,\d+$/.test(text)) return Number(text.replace(',', '.'))
  if (/^,\d+$/.test(text)) return Number(`0.${text.slice(1)}`)
  if (/^\d+(?:\.\d+)?,$/.test(text)) return Number(text.slice(0, -1))
  return Number.NaN
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

class StatementParser extends EmbeddedActionsParser {
  readonly chunk: (idxInCallingRule?: number, ...args: unknown[]) => Statement[]

  constructor() {
    // No two alternatives begin alike, so there is nothing to look for at each start.
    super(Object.values(tokenTypes), { recoveryEnabled: false, maxLookahead: 1, skipValidations: true })

    const statement: (idx?: number) => Statement = this.RULE('statement', (): Statement => {
      let items: readonly Item[] = []
      let body: Block | undefined
      this.OR([
        {
          ALT: () => {
            const read = this.CONSUME(tokenTypes.items) as StreamToken
            items = read.items
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
          { ALT: () => this.CONSUME(tokenTypes.end) },
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
        open: isVirtual(open.own) ? undefined : open.own,
        close: isVirtual(close.own) ? undefined : close.own,
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

const isItem = ({ kind }: Token): boolean =>
  kind !== 'newline' && kind !== 'separator' && kind !== 'open' && kind !== 'close' && kind !== 'comment'

const noItems: readonly Item[] = []

function given(type: TokenType, own: Token, items = noItems): StreamToken {
  return {
    image: own.text,
    startOffset: own.start,
    endOffset: own.end - 1,
    tokenType: type,
    tokenTypeIdx: type.tokenTypeIdx as number,
    own,
    items,
  } as StreamToken
}

/** What the parser is given of a chunk's tokens. A comment is the last token of its line and is nothing to it. */
function toStream(tokens: readonly Token[]): StreamToken[] {
  const stream: StreamToken[] = []
  for (let at = 0; at < tokens.length; at++) {
    const token = tokens[at] as Token
    if (isItem(token)) {
      const items: Item[] = []
      for (let next: Token | undefined = token; next !== undefined && isItem(next); next = tokens[at]) {
        const behind = tokens[++at]
        const unit = next.kind === 'number' && behind?.kind === 'unit' ? behind : undefined
        if (unit !== undefined) at++
        items.push(itemOf(next, unit))
      }
      at--
      stream.push(given(tokenTypes.items, token, items))
    } else if (token.kind === 'open') stream.push(given(tokenTypes.open, token))
    else if (token.kind === 'close') stream.push(given(tokenTypes.close, token))
    else if (tokens[at + 1]?.kind === 'open') stream.push(given(tokenTypes.end, token))
  }
  return stream
}

/** Two statements that share a line without `;` between them, and blocks that nothing heads. */
function separationProblems(tokens: readonly Token[]): SyntaxProblem[] {
  const problems: SyntaxProblem[] = []
  let before: Token | undefined
  for (const token of tokens) {
    const { start, end } = token
    if (token.kind === 'open') {
      if (before === undefined || !isItem(before)) problems.push({ reason: 'block-without-head', start, end })
    } else if (before?.kind === 'close' && !isVirtual(before) && isItem(token))
      problems.push({ reason: 'missing-line-end', start, end })
    before = token
  }
  return problems
}

/**
 * Parses the text of one chunk. Never throws: any text gives a tree and a list of problems.
 * @param opensBlock tells which words open blocks, to fix lost braces.
 */
export function parseChunk(text: string, opensBlock: (first: string, second: string | undefined) => boolean): Chunk {
  const { tokens, problems } = lex(text)
  const layout = layOut(text, tokens, opensBlock)
  parser.input = toStream(layout.stream)
  const statements = parser.chunk()
  const failure = parser.errors[0]
  if (failure !== undefined) throw new Error(`The balanced stream did not parse: ${failure.message}`)
  const all = [...problems, ...layout.problems, ...separationProblems(layout.stream)].sort((a, b) => a.start - b.start)
  return { text, tokens, statements, problems: all }
}
