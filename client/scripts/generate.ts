import { mkdirSync, readFileSync, writeFileSync } from 'node:fs'
import { textMateGrammar } from '../../grammar/colouring.ts'
import { languageReference } from '../../grammar/reference.ts'
import { checksReference } from '../../server/checks/reference.ts'

const grammar = new URL('../../grammar/', import.meta.url)

/** The files that are written from the vocabulary and the checks, by their path within `grammar/`, with what they must hold. */
export function generatedFiles(): ReadonlyMap<string, string> {
  const text = (file: string): string => readFileSync(new URL(file, grammar), 'utf8')
  // Lists of one text stand on one line, as the formatter of this repository writes them.
  const json = JSON.stringify(textMateGrammar(), null, 2).replace(/\[\s+("[^"\n]*")\s+\]/g, '[$1]')
  return new Map([
    ['syntaxes/detent.tmLanguage.json', `${json}\n`],
    ['reference/language.md', languageReference(text('reference/introduction.md'), text('reference/model.md'))],
    ['reference/checks.md', checksReference()],
  ])
}

if (import.meta.main) {
  for (const [file, content] of generatedFiles()) {
    const target = new URL(file, grammar)
    mkdirSync(new URL('.', target), { recursive: true })
    writeFileSync(target, content)
    console.log(`grammar/${file}`)
  }
}
