import * as assert from 'node:assert/strict'
import { describe, it } from 'mocha'
import * as vscode from 'vscode'
import { bench } from './bench.ts'
import { diagnosticsWith, eventually, openText } from './documents.ts'

/** Each feature of the language, asked for by the editor's own provider commands. */

const [definitions = '', profile = ''] = bench.split('\nprofile ')
const daily = `detent 1\nuse "providers/bench.detent"\n\nprofile ${profile}`

/** The definitions in one file and a profile in another, which uses them. */
async function twoFiles(text = daily): Promise<vscode.TextEditor> {
  await openText('providers/bench.detent', definitions)
  return openText('providers-daily.detent', text)
}

function at(document: vscode.TextDocument, piece: string, further = 0): vscode.Position {
  const offset = document.getText().indexOf(piece)
  assert.ok(offset >= 0, `${piece} is in the text`)
  return document.positionAt(offset + further)
}

/** Runs one of the editor's commands, such as `vscode.executeHoverProvider`. */
function ask<T>(command: string, ...parameters: unknown[]): Thenable<T> {
  return vscode.commands.executeCommand<T>(`vscode.${command}`, ...parameters)
}

function nameOf(uri: vscode.Uri): string {
  return uri.path.split('/').at(-1) ?? ''
}

function labelOf({ label }: vscode.CompletionItem): string {
  return typeof label === 'string' ? label : label.label
}

async function completions(document: vscode.TextDocument, position: vscode.Position): Promise<vscode.CompletionItem[]> {
  const list = await ask<vscode.CompletionList>('executeCompletionItemProvider', document.uri, position, undefined, 50)
  return list.items
}

describe('completion', () => {
  it('offers the keys of the place, and says what they mean', async () => {
    const { document } = await openText('completed.detent', bench.replace('  bands {', '  \n  bands {'))
    const position = at(document, '  \n  bands {', 2)
    const items = await eventually('completions', async () => {
      const found = await completions(document, position)
      return found.some(item => labelOf(item) === 'limits') ? found : undefined
    })
    const labels = items.map(labelOf)
    assert.ok(labels.includes('fan'))
    assert.ok(!labels.includes('cores'), 'no key of another block')
    assert.ok(!labels.includes('steps'), 'no key that is there already')
    const limits = items.find(item => labelOf(item) === 'limits')
    const text = limits?.documentation
    assert.match(typeof text === 'string' ? text : (text?.value ?? ''), /limits that the profile sets/)
  })

  it('offers the ratio that holds for the core counts, and the row for those that are missing', async () => {
    const limited = bench.replace('  bands {', '  limits { die 70 °C }\n  bands {')
    const open = limited.replace('    3 to 8 cores   48x\n', '    3 to 8 cores \n')
    const { document } = await openText('completed-row.detent', open)
    const [cell] = (await completions(document, at(document, '3 to 8 cores ', 13))).filter(item => item.detail)
    assert.ok(cell)
    assert.match(labelOf(cell), /^\d+x$/)
    assert.match(cell.detail ?? '', /\(\d+x would not: die limit\)$/)
    const missing = await openText('completed-missing.detent', limited.replace('    3 to 8 cores   48x\n', '    \n'))
    const rows = await completions(missing.document, at(missing.document, '52x\n    ', 8))
    const row = rows.find(item => labelOf(item).startsWith('3 to 8 cores'))
    assert.ok(row)
    assert.equal(labelOf(row), `3 to 8 cores ${labelOf(cell)}`)
    assert.ok(row.insertText instanceof vscode.SnippetString)
  })

  it('offers names of files that are not used yet, with their use line', async () => {
    await openText('providers/loft.detent', 'detent 1\n\nroom loft {\n  air 20 °C\n  humidity 50 %\n}\n')
    const { document } = await twoFiles(daily.replace('room shed', 'room '))
    const items = await completions(document, at(document, 'room ', 5))
    const loft = items.find(item => labelOf(item) === 'loft')
    assert.equal(loft?.additionalTextEdits?.[0]?.newText.trim(), 'use "providers/loft.detent"')
    assert.ok(items.some(item => labelOf(item) === 'shed'))
  })
})

describe('names', () => {
  it('lead to their definition, and to every place that means them', async () => {
    const { document } = await twoFiles()
    await diagnosticsWith(document.uri, [])
    const places = await ask<vscode.Location[]>('executeReferenceProvider', document.uri, at(document, 'rig-one', 2))
    assert.deepEqual(places.map(({ uri }) => nameOf(uri)).sort(), ['bench.detent', 'providers-daily.detent'])
    const [target] = await ask<(vscode.Location | vscode.LocationLink)[]>(
      'executeDefinitionProvider',
      document.uri,
      at(document, 'rig-one', 2),
    )
    assert.ok(target)
    assert.equal(nameOf('targetUri' in target ? target.targetUri : target.uri), 'bench.detent')
    const inFile = await ask<vscode.DocumentHighlight[]>(
      'executeDocumentHighlights',
      document.uri,
      at(document, 'rig-one', 2),
    )
    assert.equal(inFile.length, 1)
  })

  it('are prepared for renaming where one stands, and refused elsewhere', async () => {
    const { document } = await twoFiles()
    await diagnosticsWith(document.uri, [])
    interface Prepared {
      readonly range: vscode.Range
      readonly placeholder: string
    }
    const prepared = await ask<Prepared>('prepareRename', document.uri, at(document, 'tower', 1))
    assert.equal(prepared.placeholder, 'tower')
    assert.equal(document.getText(new vscode.Range(prepared.range.start, prepared.range.end)), 'tower')
    await assert.rejects(async () => ask('prepareRename', document.uri, at(document, '52x')))
    const edit = await ask<vscode.WorkspaceEdit>(
      'executeDocumentRenameProvider',
      document.uri,
      at(document, 'tower'),
      'spire',
    )
    assert.deepEqual(
      edit
        .entries()
        .map(([uri, edits]) => `${nameOf(uri)} ${edits.map(one => one.newText)}`)
        .sort(),
      ['bench.detent spire', 'providers-daily.detent spire'],
    )
    await assert.rejects(async () =>
      ask('executeDocumentRenameProvider', document.uri, at(document, 'tower'), 'Not A Name'),
    )
  })
})

describe('symbols', () => {
  it('of a file are its definitions with their tables', async () => {
    const { document } = await openText('outlined.detent', bench)
    const symbols = await eventually('the outline', async () => {
      const found = await ask<vscode.DocumentSymbol[]>('executeDocumentSymbolProvider', document.uri)
      return found?.length > 0 ? found : undefined
    })
    assert.deepEqual(
      symbols.map(one => one.name),
      ['rig-one', 'tower', 'shed', 'all-cores', 'first'],
    )
    const steps = symbols.at(-1)?.children.find(one => one.name === 'steps')
    assert.ok(steps)
    assert.equal(document.getText(steps.range).split('\n')[0]?.trim(), 'steps {')
  })

  it('of the workspace are found by a part of their name', async () => {
    const { document } = await twoFiles()
    await diagnosticsWith(document.uri, [])
    const found = await eventually('the symbol', async () => {
      const symbols = await ask<vscode.SymbolInformation[]>('executeWorkspaceSymbolProvider', 'rig')
      return symbols.some(one => one.name === 'rig-one') ? symbols : undefined
    })
    assert.ok(found.every(one => /r.*i.*g/.test(one.name)))
    assert.ok(found.some(({ location }) => nameOf(location.uri) === 'bench.detent'))
  })
})

describe('formatting', () => {
  const untidy = bench.replace('    3 to 8 cores   48x', '  3 to 8 cores 48 x').replace('45 %', '45%')

  /** The text with edits applied, without changing the document. */
  function applied(document: vscode.TextDocument, edits: readonly vscode.TextEdit[]): string {
    return [...edits]
      .sort((a, b) => b.range.start.compareTo(a.range.start))
      .reduce((text, { range, newText }) => {
        return text.slice(0, document.offsetAt(range.start)) + newText + text.slice(document.offsetAt(range.end))
      }, document.getText())
  }

  it('of a document, and of a selection alone', async () => {
    const { document } = await openText('formatted.detent', untidy)
    const options = { tabSize: 2, insertSpaces: true }
    const edits = await eventually('edits', async () => {
      const found = await ask<vscode.TextEdit[]>('executeFormatDocumentProvider', document.uri, options)
      return found?.length > 0 ? found : undefined
    })
    assert.equal(applied(document, edits), bench)
    const line = document.lineAt(at(document, '45%').line)
    const some = await ask<vscode.TextEdit[]>('executeFormatRangeProvider', document.uri, line.range, options)
    assert.equal(applied(document, some), untidy.replace('45%', '45 %'))
  })
})

describe('quick fixes', () => {
  const fix = async (name: string, text: string, code: string, title: string): Promise<string> => {
    const { document } = await openText(name, text)
    const found = await eventually(`a finding ${code}`, () =>
      vscode.languages.getDiagnostics(document.uri).find(one => {
        const own = one.code
        return (typeof own === 'object' ? own.value : own) === code
      }),
    )
    const actions = await ask<vscode.CodeAction[]>(
      'executeCodeActionProvider',
      document.uri,
      found.range,
      vscode.CodeActionKind.QuickFix.value,
      20,
    )
    const titles = actions.map(action => action.title)
    const action = actions.find(one => one.title === title)
    assert.ok(action?.edit, `“${title}” is among ${titles.join(' / ')}`)
    await vscode.workspace.applyEdit(action.edit)
    await eventually(`${code} to go`, () =>
      vscode.languages
        .getDiagnostics(document.uri)
        .some(({ code: own }) => (typeof own === 'object' ? own.value : own) === code)
        ? undefined
        : true,
    )
    return document.getText()
  }

  it('write a unit that is missing, and the one that is meant', async () => {
    assert.ok(
      (await fix('fix-unit.detent', bench.replace('95 °C', '95'), 'unit-missing', 'Write `95 °C`')).includes('95 °C'),
    )
    assert.ok(
      (await fix('fix-kind.detent', bench.replace('95 °C', '95 K'), 'unit-mismatch', 'Write `95 °C`')).includes(
        '95 °C',
      ),
    )
  })

  it('close a gap, and leave overlapping counts to the row above', async () => {
    const gap = bench.replace('3 to 8 cores   48x', '4 to 8 cores   48x')
    assert.ok((await fix('fix-gap.detent', gap, 'steps-gap', 'Let 48x hold for 3 to 8 cores')).includes('3 to 8 cores'))
    const overlap = bench.replace('3 to 8 cores   48x', '2 to 8 cores   48x')
    const title = 'Let this row hold for 3 to 8 cores'
    assert.ok((await fix('fix-overlap.detent', overlap, 'steps-overlap', title)).includes('3 to 8 cores   48x'))
  })

  it('swap bands that stand in the wrong order', async () => {
    const rows = '    1 to 8 cores   above 60 °C  -2x\n    1 to 8 cores   above 70 °C  -1x\n'
    const text = bench.replace('    1 to 8 cores   above 60 °C  -1x\n', rows)
    const swapped = await fix('fix-bands.detent', text, 'band-no-effect', 'Swap what the two rows give back')
    assert.match(swapped, /above 60 °C {2}-1x\n.*above 70 °C {2}-2x/)
  })

  it('lower a step to what holds, and write the predicted figure into an expectation', async () => {
    const fast = bench.replace('1 to 2 cores   52x', '1 to 2 cores   55x')
    assert.ok(
      (await fix('fix-step.detent', fast, 'needs-short', 'Lower this step to 53x')).includes('1 to 2 cores   53x'),
    )
    const text = bench.replace('  bands {', '  expect all-cores holds >= 5.0 GHz\n  bands {')
    assert.match(await fix('fix-expect.detent', text, 'expect-failed', 'Expect 4.70 GHz'), /holds >= 4\.70 GHz/)
  })

  it('say which word was meant', async () => {
    const text = bench.replace('humidity', 'humidty')
    assert.ok((await fix('fix-word.detent', text, 'unknown-word', 'Write `humidity`')).includes('humidity 45 %'))
  })
})

describe('the shape of a text', () => {
  it('folds at its blocks', async () => {
    const { document } = await openText('folded.detent', bench)
    const folds = await eventually('folds', async () => {
      const found = await ask<vscode.FoldingRange[]>('executeFoldingRangeProvider', document.uri)
      return found?.length > 0 ? found : undefined
    })
    const lines = folds.map(({ start }) => document.lineAt(start).text.trim())
    assert.ok(lines.includes('part rig-one {') && lines.includes('needs {') && lines.includes('steps {'))
  })

  it('widens a selection from the number to the block', async () => {
    const { document } = await openText('selected.detent', bench)
    const [innermost] = await ask<vscode.SelectionRange[]>('executeSelectionRangeProvider', document.uri, [
      at(document, '45 %', 1),
    ])
    const texts: string[] = []
    for (let one = innermost; one !== undefined; one = one.parent as vscode.SelectionRange) {
      texts.push(document.getText(one.range))
    }
    assert.ok(texts.includes('45 %') && texts.includes('humidity 45 %'), texts.join(' | '))
    assert.ok(texts.some(text => text.startsWith('room shed {')))
  })

  it('links a use line to its file', async () => {
    const { document } = await twoFiles()
    await diagnosticsWith(document.uri, [])
    const links = await ask<vscode.DocumentLink[]>('executeLinkProvider', document.uri)
    assert.deepEqual(
      links.map(link => nameOf(link.target ?? document.uri)),
      ['bench.detent'],
    )
  })

  it('has its words coloured by meaning', async () => {
    const { document } = await openText('coloured.detent', bench)
    const legend = await eventually('the legend', () =>
      ask<vscode.SemanticTokensLegend | undefined>('provideDocumentSemanticTokensLegend', document.uri),
    )
    const { data } = await ask<vscode.SemanticTokens>('provideDocumentSemanticTokens', document.uri)
    let [line, character] = [0, 0]
    const found: string[] = []
    for (let index = 0; index < data.length; index += 5) {
      const [down = 0, along = 0, length = 0, type = 0] = data.slice(index, index + 4)
      line += down
      character = down === 0 ? character + along : along
      const word = document.getText(new vscode.Range(line, character, line, character + length))
      found.push(`${word} ${legend.tokenTypes[type]}`)
    }
    assert.ok(found.includes('rig-one class') && found.includes('cores keyword') && found.includes('air enumMember'))
  })
})

describe('a profile with all that it starts from', () => {
  const text = `${bench}\nprofile second based-on first {\n  steps { 1 to 8 cores 47x }\n}\n`

  it('is a document to read, and follows what is typed', async () => {
    const editor = await openText('resolved.detent', text)
    const { document } = editor
    await diagnosticsWith(document.uri, [])
    const lenses = await ask<vscode.CodeLens[]>('executeCodeLensProvider', document.uri, 9)
    const way = lenses.find(lens => lens.command?.command === 'detent.showResolvedProfile')?.command
    assert.ok(way)
    await vscode.commands.executeCommand(way.command, ...(way.arguments ?? []))
    const shown = await eventually('the document', () =>
      vscode.workspace.textDocuments.find(({ uri }) => uri.scheme === 'detent-resolved'),
    )
    assert.match(shown.getText(), /^ {2}part rig-one +# first, line \d+$/m)
    assert.match(shown.getText(), /^ {4}1 to 8 cores {3}47x +# second, line \d+$/m)
    assert.equal(shown.languageId, 'detent')
    assert.deepEqual(vscode.languages.getDiagnostics(shown.uri), [])
    const start = at(document, '47x')
    await editor.edit(edit => edit.replace(new vscode.Range(start, start.translate(0, 2)), '46'))
    await eventually('the new ratio', () => (/1 to 8 cores {3}46x/.test(shown.getText()) ? true : undefined))
  })
})
