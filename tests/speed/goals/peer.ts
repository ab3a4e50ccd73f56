/** The JSON language service, as an editor's server for JSON uses it, with the schema of the twin. */

import { createRequire } from 'node:module'
import { schema } from './twin.ts'

interface JsonText {
  getText(): string
}

interface JsonService {
  parseJSONDocument(text: JsonText): unknown
  doValidation(text: JsonText, parsed: unknown, settings: object, schema: object): PromiseLike<readonly object[]>
  format(text: JsonText, range: undefined, options: object): readonly object[]
}

const { getLanguageService, TextDocument } = createRequire(import.meta.url)('vscode-json-languageservice') as {
  getLanguageService(environment: object): JsonService
  TextDocument: { create(uri: string, language: string, version: number, text: string): JsonText }
}

const service = getLanguageService({})

const textOf = (text: string): JsonText => TextDocument.create('file:///twin.json', 'json', 1, text)

/** How many findings the service has in a text, read from nothing. */
export async function findingsOfTwin(text: string): Promise<number> {
  const document = textOf(text)
  return (await service.doValidation(document, service.parseJSONDocument(document), {}, schema)).length
}

/** How many edits the service would make to lay a text out. */
export function editsOfTwin(text: string): number {
  return service.format(textOf(text), undefined, { tabSize: 2, insertSpaces: true }).length
}
