/** Writes what is generated from the vocabulary, the checks and the rule of the layers: `npm run generate`. */
import { mkdirSync, readFileSync, writeFileSync } from 'node:fs'
import { textMateGrammar } from '../../grammar/colouring.ts'
import { languageReference } from '../../grammar/reference.ts'
import { checksReference } from '../../server/checks/reference.ts'
import { checks } from '../../server/checks/registry.ts'
import { layerTable } from './layers.ts'

const top = new URL('../../', import.meta.url)

interface Manifest {
  readonly contributes: {
    readonly configuration: {
      readonly properties: {
        readonly 'detent.checks.severity': { readonly propertyNames: { enum: readonly string[] } }
      }
    }
  }
}

/** The manifest with the code of every check as a name that `detent.checks.severity` may have. */
function manifest(text: string): string {
  const read = JSON.parse(text) as Manifest
  read.contributes.configuration.properties['detent.checks.severity'].propertyNames.enum = checks.map(
    ({ code }) => code,
  )
  return `${JSON.stringify(read, null, 2)}\n`
}

/** The contributor's page with the table of the layers between its two marks. */
function developers(text: string): string {
  return text.replace(
    /(<!-- layers -->\n)[\s\S]*?(\n<!-- end of layers -->)/,
    (_, from, to) => `${from}${layerTable()}${to}`,
  )
}

/** The files that are written from the vocabulary, the checks and the layers, by their path, with what they must hold. */
export function generatedFiles(): ReadonlyMap<string, string> {
  const text = (file: string): string => readFileSync(new URL(file, top), 'utf8')
  // Lists of one text stand on one line, as the formatter of this repository writes them.
  const json = JSON.stringify(textMateGrammar(), null, 2).replace(/\[\s+("[^"\n]*")\s+\]/g, '[$1]')
  const reference = languageReference(text('grammar/reference/introduction.md'), text('grammar/reference/model.md'))
  return new Map([
    ['grammar/syntaxes/detent.tmLanguage.json', `${json}\n`],
    ['grammar/reference/language.md', reference],
    ['grammar/reference/checks.md', checksReference()],
    ['package.json', manifest(text('package.json'))],
    ['DEVELOPERS.md', developers(text('DEVELOPERS.md'))],
  ])
}

if (import.meta.main) {
  for (const [file, content] of generatedFiles()) {
    const target = new URL(file, top)
    mkdirSync(new URL('.', target), { recursive: true })
    writeFileSync(target, content)
    console.log(file)
  }
}
