/**
 * The parser of the generic grammar: statements of items, optionally with a block. It runs on a stream whose
 * braces the layout has balanced, so that any text gives a tree.
 */

import { createToken, EmbeddedActionsParser, EOF, type IToken, type TokenType } from 'chevrotain'
import { type LayoutToken, layOut } from './layout.ts'
import { lex, stringText } from './tokens.ts'
import type { Block, Chunk, Item, Statement, SyntaxProblem, Token } from './tree.ts'

/** What the parser is given: the items of a statement together, and what stands between statements. */
type StreamToken = IToken & { readonly own: Token; readonly virtual: boolean; readonly items: readonly Item[] }

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

const isItem = ({ kind }: Token): boolean =>
  kind !== 'newline' && kind !== 'separator' && kind !== 'open' && kind !== 'close'

const noItems: readonly Item[] = []

function given(type: TokenType, own: Token, virtual: boolean, items = noItems): StreamToken {
  return {
    image: own.text,
    startOffset: own.start,
    endOffset: own.end - 1,
    tokenType: type,
    tokenTypeIdx: type.tokenTypeIdx as number,
    own,
    virtual,
    items,
  } as StreamToken
}

/** What counts for the tree: all but comments and stray braces. */
function structural(layout: readonly LayoutToken[]): LayoutToken[] {
  return layout.filter(({ token, role }) => role !== 'stray' && token.kind !== 'comment')
}

function toStream(layout: readonly LayoutToken[]): StreamToken[] {
  const stream: StreamToken[] = []
  for (let at = 0; at < layout.length; at++) {
    const { token, role } = layout[at] as LayoutToken
    if (isItem(token)) {
      const items: Item[] = []
      for (let next: Token | undefined = token; next !== undefined && isItem(next); next = layout[at]?.token) {
        const behind = layout[++at]?.token
        const unit = next.kind === 'number' && behind?.kind === 'unit' ? behind : undefined
        if (unit !== undefined) at++
        items.push(itemOf(next, unit))
      }
      at--
      stream.push(given(tokenTypes.items, token, false, items))
    } else if (token.kind === 'open') stream.push(given(tokenTypes.open, token, role === 'virtual'))
    else if (token.kind === 'close') stream.push(given(tokenTypes.close, token, role === 'virtual'))
    else if (layout[at + 1]?.token.kind === 'open') stream.push(given(tokenTypes.end, token, false))
  }
  return stream
}

/** Two statements that share a line without `;` between them, and blocks that nothing heads. */
function separationProblems(layout: readonly LayoutToken[]): SyntaxProblem[] {
  const problems: SyntaxProblem[] = []
  let before: LayoutToken | undefined
  for (const one of layout) {
    const { token } = one
    const { start, end } = token
    if (token.kind === 'open') {
      if (before === undefined || !isItem(before.token)) problems.push({ reason: 'block-without-head', start, end })
    } else if (before?.token.kind === 'close' && before.role !== 'virtual' && isItem(token))
      problems.push({ reason: 'missing-line-end', start, end })
    before = one
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
  const found = structural(layout.stream)
  parser.input = toStream(found)
  const statements = parser.chunk()
  const failure = parser.errors[0]
  if (failure !== undefined) throw new Error(`The balanced stream did not parse: ${failure.message}`)
  const all = [...problems, ...layout.problems, ...separationProblems(found)].sort((a, b) => a.start - b.start)
  return { text, tokens, statements, problems: all }
}
