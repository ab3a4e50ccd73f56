// A language server for JSON as editors have one: the JSON language service behind the protocol, with pulled findings.
import { getLanguageService } from 'vscode-json-languageservice'
import { createConnection, ProposedFeatures, TextDocumentSyncKind, TextDocuments } from 'vscode-languageserver/node'
import { TextDocument } from 'vscode-languageserver-textdocument'
import { schema } from './twin.ts'

const connection = createConnection(ProposedFeatures.all, process.stdin, process.stdout)
const documents = new TextDocuments(TextDocument)
const service = getLanguageService({})
service.configure({ validate: true, schemas: [{ uri: 'twin://schema', fileMatch: ['*.json'], schema }] })

/** What a text was last read as, by its version. */
const parsed = new Map()

function parsedOf(document) {
  const before = parsed.get(document.uri)
  if (before?.version === document.version) return before.json
  const json = service.parseJSONDocument(document)
  parsed.set(document.uri, { version: document.version, json })
  return json
}

connection.onInitialize(() => ({
  capabilities: {
    textDocumentSync: TextDocumentSyncKind.Incremental,
    diagnosticProvider: { interFileDependencies: false, workspaceDiagnostics: false },
  },
}))
connection.languages.diagnostics.on(async ({ textDocument }) => {
  const document = documents.get(textDocument.uri)
  if (document === undefined) return { kind: 'full', items: [] }
  return { kind: 'full', items: await service.doValidation(document, parsedOf(document)) }
})
documents.listen(connection)
connection.listen()
