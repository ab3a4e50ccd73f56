/** What a person reads in a source: the words of its comments and strings, without the code between them. */

/** A text without white space is a key, a path or a pattern. */
const sentence = /\S\s+\S/

/** After these a slash divides; after anything else it begins a regular expression. */
const ends = /[\w$)\]}'"`]!?\s*$/
const keywordEnds = /\b(?:return|typeof|case|of|in|yield|await)\s*$/

interface Prose {
  readonly text: string
  /** False where the source ends within a string or a comment: it was not understood. */
  readonly isWhole: boolean
}

/** Comments and texts of more than one word of a TypeScript source, one to a line; what fills in a template is code. */
export function proseOf(source: string): Prose {
  const found: string[] = []
  let at = 0
  let isWhole = true
  const add = (text: string): void => {
    if (sentence.test(text)) found.push(text.replaceAll(/\s*\n\s*\*?\s*/g, ' '))
  }
  /** Skips to an end that stands outside of escapes; -1 where there is none. */
  const close = (pattern: RegExp): string => {
    pattern.lastIndex = at
    const text = pattern.exec(source)?.[0]
    if (text === undefined) isWhole = false
    at = text === undefined ? source.length : at + text.length
    return text ?? ''
  }
  const template = (): void => {
    at += 1
    const parts: string[] = []
    while (isWhole && source[at] !== '`') {
      parts.push(close(/(?:\\[\s\S]|[^\\`$]|\$(?!\{))*(?=`|\$\{)/y))
      if (source.startsWith('${', at)) {
        at += 2
        code('}')
        at += 1
      }
    }
    at += 1
    add(parts.join('…'))
  }
  const code = (end: string | undefined): void => {
    let before = ''
    for (let depth = 0; at < source.length && isWhole; ) {
      const char = source[at] as string
      if (char === end && depth === 0) return
      const isComment = /\/[/*]/.test(source.slice(at, at + 2))
      if (source.startsWith('//', at)) add(close(/\/\/.*/y).slice(2))
      else if (source.startsWith('/*', at))
        add(
          close(/\/\*[\s\S]*?\*\//y)
            .slice(2, -2)
            .replace(/^\*/, ''),
        )
      else if (char === "'") add(close(/'(?:\\[\s\S]|[^\\'\n])*'/y).slice(1, -1))
      else if (char === '"') add(close(/"(?:\\[\s\S]|[^\\"\n])*"/y).slice(1, -1))
      else if (char === '`') template()
      else if (char === '/' && (!ends.test(before) || keywordEnds.test(before)))
        close(/\/(?:\\.|\[(?:\\.|[^\\\]\n])*\]|[^\\/[\n])+\//y)
      else {
        if (char === '{') depth += 1
        if (char === '}') depth -= 1
        at += 1
      }
      if (/\s/.test(char)) before = `${before.trimEnd()} `
      else if (!isComment) before = (before + (/['"`/]/.test(char) ? "'" : char)).slice(-12)
    }
    if (end !== undefined) isWhole = false
  }
  code(undefined)
  return { text: found.join('\n'), isWhole }
}
