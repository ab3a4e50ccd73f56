/** Pictures beside the text: a panel that follows the cursor and what is typed. Nothing of it runs before it is asked for. */
import {
  type Disposable,
  type ExtensionContext,
  Range,
  Selection,
  type TextEditor,
  Uri,
  ViewColumn,
  type WebviewPanel,
  window,
  workspace,
} from 'vscode'
import type { BaseLanguageClient, WorkspaceEdit } from 'vscode-languageclient'
import { warn } from './messages.ts'
import { ask as answered } from './papers.ts'
import { chosenCommit } from './since.ts'
import { type OpenField, whatIfScheme } from './what-if.ts'

/** The command that opens the panel. */
export const besideCommand = 'detent.showBeside'

const viewType = 'detent.beside'
const method = 'detent/view'
const lookUpMethod = 'detent/lookUpBeside'

interface Position {
  readonly line: number
  readonly character: number
}

interface Place {
  readonly uri: string
  readonly position: Position
}

type Unknown = Readonly<Record<string, unknown>>

const isNumber = (value: unknown): value is number => typeof value === 'number' && Number.isFinite(value)

function placeIn(value: unknown): Place | undefined {
  const { uri, position } = (value ?? {}) as Unknown
  const { line, character } = (position ?? {}) as Unknown
  return typeof uri === 'string' && isNumber(line) && isNumber(character)
    ? { uri, position: { line, character } }
    : undefined
}

function placeOf(editor: TextEditor | undefined): Place | undefined {
  // A field of What If has nothing to show: what stands beside stays with the text.
  if (editor?.document.languageId !== 'detent' || editor.document.uri.scheme === whatIfScheme) return undefined
  const { line, character } = editor.selection.active
  return { uri: editor.document.uri.toString(), position: { line, character } }
}

/** Letters and digits that nobody can guess. */
function nonce(): string {
  return [...crypto.getRandomValues(new Uint8Array(16))].map(byte => byte.toString(16).padStart(2, '0')).join('')
}

const slider = (name: string, words: string, unit: string, least: number, most: number, usual: number): string =>
  `<p><label><input type="checkbox" id="${name}-on"> ${words}</label>
<input type="range" id="${name}" min="${least}" max="${most}" step="1" value="${usual}" data-unit="${unit}" aria-label="${words}, ${unit}"> <span id="${name}-said"></span></p>`

const textOf = async (folder: Uri, name: string): Promise<string> =>
  new TextDecoder().decode(await workspace.fs.readFile(Uri.joinPath(folder, name)))

/**
 * The page with all that it needs: each file that it had to ask for would come through the editor, and late.
 * @param first what the page shows before anything is sent to it
 */
async function pageOf(folder: Uri, first: Promise<Unknown | undefined>): Promise<string> {
  const [style, script, message] = await Promise.all([textOf(folder, 'beside.css'), textOf(folder, 'beside.js'), first])
  const once = nonce()
  const policy = `default-src 'none'; script-src 'nonce-${once}'; style-src 'nonce-${once}'; img-src data: blob:`
  // Nothing in it ends the element that it stands in.
  const data = JSON.stringify(message ?? null).replaceAll('<', '\\u003c')
  return `<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="${policy}">
<title>Beside</title>
<style nonce="${once}">${style}</style>
</head>
<body>
<main>
<div class="bar">
<label>Load <select id="load"></select></label>
<label>Against <select id="against" title="Another profile with the same part, or this one at a commit: its edges are drawn as thin lines"></select></label>
<button id="pin" aria-pressed="false" title="Stay with this picture, wherever the cursor goes">Pin</button>
<button id="again" title="Open one more panel">Duplicate</button>
<button id="table" aria-pressed="false" title="The figures of the picture">Figures</button>
<button id="svg">Save SVG</button> <button id="png">Save PNG</button> <button id="csv">Save CSV</button>
</div>
<p id="note"></p>
<p id="aloud" role="status"></p>
<div id="picture" role="group" tabindex="0" aria-label="Nothing is shown yet"></div>
<p id="said" role="status"></p>
<details><summary>What if</summary>
${slider('airC', 'Air', '°C', -10, 45, 22)}
${slider('humidityPct', 'Humidity', '%', 5, 95, 50)}
${slider('fanPct', 'Fan', '%', 10, 100, 60)}
<p><button id="write" title="Show these conditions as lines of the file, and write them once you accept">Write into the file…</button></p>
</details>
<div id="figures" role="region" tabindex="0" aria-label="Figures" hidden></div>
</main>
<script type="application/json" id="first">${data}</script>
<script nonce="${once}">${script}</script>
</body>
</html>`
}

/** What a picture says while a field of What If is open. */
const asWritten = 'As written: what stands in the field of What If is not in this picture.'

/** How long the cursor or the keys rest before a picture is asked for: short enough to follow, long enough not to run ahead. */
const restMs = 10

/** An answer that does not come is asked for again so often, that much later. */
const mostFailures = 5
const againMs = 800

/** So long a page waits for its first picture, which is asked for while the editor still makes room for the page. */
const patienceMs = 200

/** The size of the panel that was seen last: a new one is likely to have it. */
let usualSize: Unknown = { width: 620, height: 440 }

/**
 * One panel: asks the server, and does what its page says.
 * @param isNew nothing was picked in it yet: its first picture comes with its page
 */
function attach(
  client: BaseLanguageClient,
  panel: WebviewPanel,
  folder: Uri,
  whatIf: OpenField,
  from: Place | undefined,
  isNew: boolean,
): void {
  let place = from
  let asked: Unknown = isNew ? usualSize : {}
  /** The title of the picture that the page has. */
  let shown = ''
  /** The page says that a field of What If is open. */
  let isAsWritten = false
  let isPinned = false
  let isReady = false
  let isClosed = false
  let number = 0
  let failures = 0
  let timer: ReturnType<typeof setTimeout> | undefined
  const listeners: Disposable[] = []
  const request = (more: Unknown): Promise<Unknown> =>
    client.sendRequest<Unknown>(method, {
      ...asked,
      ...more,
      textDocument: { uri: place?.uri },
      position: place?.position,
    })
  /** What the page is sent of an answer; undefined where no picture belongs to the place. */
  const messageOf = (view: Unknown): Unknown | undefined => {
    const { waits, trouble } = view
    const why = typeof trouble === 'string' ? trouble : waits
    if (why !== undefined) return typeof why === 'string' ? { type: 'waits', why } : undefined
    panel.title = `Beside: ${String(view.profile)}`
    shown = String(view.title)
    isAsWritten = whatIf.isOpen()
    const notice = [view.notice, isAsWritten ? asWritten : null].filter(one => typeof one === 'string').join(' ')
    return { type: 'view', view: { ...view, notice }, place }
  }
  const refresh = async (): Promise<void> => {
    if (place === undefined || !isReady || !panel.visible) return
    const own = ++number
    try {
      const view = await request({ shown })
      // An answer to what is asked no more.
      if (own !== number) return
      failures = 0
      // What takes long follows.
      if (view.isFirst === true) soon()
      const message = messageOf(view)
      if (message !== undefined) await panel.webview.postMessage(message)
    } catch (error) {
      // The text changed meanwhile, or the server is starting again: it is asked once more.
      if (own !== number) return
      client.outputChannel.appendLine(`The picture beside the text: ${error instanceof Error ? error.message : error}`)
      if (++failures <= mostFailures) timer = setTimeout(() => void refresh(), againMs)
      else await panel.webview.postMessage({ type: 'waits', why: 'There is no answer; the output has the details.' })
    }
  }
  /** Without an answer, or with one that comes late, it is asked for in the usual way. */
  const firstMessage = async (): Promise<Unknown | undefined> => {
    if (!isNew || place === undefined) return undefined
    const late = new Promise<undefined>(resolve => setTimeout(resolve, patienceMs, undefined))
    const view = await Promise.race([request({ shown }).catch(() => undefined), late])
    return isClosed || view === undefined ? undefined : messageOf(view)
  }
  const soon = (): void => {
    clearTimeout(timer)
    timer = setTimeout(() => void refresh(), restMs)
  }
  const ask = (message: Unknown): void => {
    asked = sizeAndLoad(message)
    usualSize = { width: message.width, height: message.height }
    soon()
  }
  const save = async (as: unknown): Promise<void> => {
    const file = await request({ as: as === 'csv' ? 'csv' : 'svg' })
    if (typeof file.text !== 'string' || typeof file.title !== 'string') return
    if (as === 'png') await panel.webview.postMessage({ type: 'png', text: file.text })
    else await write(file.title, as === 'csv' ? 'csv' : 'svg', new TextEncoder().encode(file.text))
  }
  /** Lets the person pick a commit for the map to be drawn beside. */
  const pickCommit = async (): Promise<void> => {
    const at = place
    const commit = at && (await chosenCommit(client, at.uri, 'Draw beside the map as it was'))
    if (at === undefined || commit === undefined) return
    const asked = { textDocument: { uri: at.uri }, position: at.position, commit }
    const found = await answered(client, lookUpMethod, asked)
    if (found !== undefined) await panel.webview.postMessage({ type: 'against', against: `@${commit}` })
  }
  /** The edit of the sliders; the editor shows it, and a person accepts it there. */
  const writeSliders = async (): Promise<void> => {
    const { edit, waits } = await request({ as: 'edit' })
    if (typeof waits === 'string') warn(waits)
    if (edit === undefined) return
    await workspace.applyEdit(await client.protocol2CodeConverter.asWorkspaceEdit(edit as WorkspaceEdit))
  }
  const heard = async (message: Unknown): Promise<void> => {
    switch (message.type) {
      case 'ready':
        isReady = true
        place ??= placeIn(message.place) ?? placeOf(window.activeTextEditor)
        isPinned = message.isPinned === true
        ask(message)
        break
      case 'ask':
        ask(message)
        break
      case 'pin':
        isPinned = message.isPinned === true
        if (!isPinned) follow(window.activeTextEditor)
        break
      case 'again':
        open(client, folder, whatIf, place)
        break
      case 'go':
        await goTo(message)
        break
      case 'commit':
        await pickCommit()
        break
      case 'write':
        await writeSliders()
        break
      case 'save':
        await save(message.as)
        break
      case 'png':
        if (typeof message.data === 'string') {
          const bytes = Uint8Array.from(atob(message.data), sign => sign.charCodeAt(0))
          await write(shown, 'png', bytes)
        }
    }
  }
  const follow = (editor: TextEditor | undefined): void => {
    const found = placeOf(editor)
    if (isPinned || found === undefined) return
    place = found
    soon()
  }
  listeners.push(
    panel.webview.onDidReceiveMessage((message: Unknown | null) =>
      heard(message ?? {}).catch(error =>
        warn(`The picture is not saved: ${error instanceof Error ? error.message : error}`),
      ),
    ),
    window.onDidChangeTextEditorSelection(({ textEditor }) => follow(textEditor)),
    window.onDidChangeActiveTextEditor(follow),
    workspace.onDidChangeTextDocument(({ document }) => {
      if (document.languageId === 'detent') soon()
    }),
    // A log that grows is followed.
    client.onNotification('detent/logsRead', () => soon()),
    whatIf.onDidChange(() => {
      if (whatIf.isOpen() !== isAsWritten) soon()
    }),
    panel.onDidChangeViewState(() => soon()),
    panel.onDidDispose(() => {
      isClosed = true
      clearTimeout(timer)
      for (const one of listeners) one.dispose()
    }),
  )
  panel.webview.options = { enableScripts: true, localResourceRoots: [folder] }
  pageOf(folder, firstMessage()).then(
    html => {
      if (!isClosed) panel.webview.html = html
    },
    error => warn(`The charts cannot be shown: ${error instanceof Error ? error.message : error}`),
  )
}

function sizeAndLoad({ width, height, load, against, whatIf }: Unknown): Unknown {
  return { width, height, load, against, whatIf }
}

async function goTo({ uri, range }: Unknown): Promise<void> {
  const { start } = (range ?? {}) as { readonly start?: Position }
  if (typeof uri !== 'string' || !isNumber(start?.line) || !isNumber(start?.character)) return
  const at = new Range(start.line, start.character, start.line, start.character)
  const address = Uri.parse(uri, true)
  const shown = window.visibleTextEditors.find(({ document }) => document.uri.toString() === address.toString())
  const column = shown?.viewColumn ?? ViewColumn.One
  const editor = await window.showTextDocument(address, { viewColumn: column, selection: at })
  editor.selection = new Selection(at.start, at.start)
}

async function write(title: string, ending: 'svg' | 'csv' | 'png', bytes: Uint8Array): Promise<void> {
  const folder = workspace.workspaceFolders?.[0]?.uri
  const name = `${title.replaceAll(/[^\w.-]+/g, '-').toLowerCase()}.${ending}`
  const target = await window.showSaveDialog({
    title: `Save the ${ending.toUpperCase()}`,
    filters: { [ending.toUpperCase()]: [ending] },
    ...(folder === undefined ? {} : { defaultUri: Uri.joinPath(folder, name) }),
  })
  if (target !== undefined) await workspace.fs.writeFile(target, bytes)
}

function open(client: BaseLanguageClient, folder: Uri, whatIf: OpenField, place: Place | undefined): void {
  const panel = window.createWebviewPanel(
    viewType,
    'Beside',
    { viewColumn: ViewColumn.Beside, preserveFocus: true },
    { enableScripts: true, localResourceRoots: [folder] },
  )
  attach(client, panel, folder, whatIf, place, true)
}

const folderOf = (extension: Uri): Uri => Uri.joinPath(extension, 'client', 'views')

/** @param file the address of a file, from a hover or a lens; with `position`, a place in it */
export function showBeside(
  client: BaseLanguageClient,
  extension: Uri,
  whatIf: OpenField,
  file?: unknown,
  position?: unknown,
): void {
  const place = placeIn({ uri: file, position }) ?? placeOf(window.activeTextEditor)
  if (place === undefined) warn('Place the cursor in a Detent file.')
  else open(client, folderOf(extension), whatIf, place)
}

/** Panels that were open when the window was closed or loaded again show what they showed. */
export function restoreBeside(
  client: BaseLanguageClient,
  { extensionUri }: ExtensionContext,
  whatIf: OpenField,
): Disposable {
  return window.registerWebviewPanelSerializer(viewType, {
    deserializeWebviewPanel: async (panel: WebviewPanel, state: unknown) => {
      attach(client, panel, folderOf(extensionUri), whatIf, placeIn((state as Unknown | undefined)?.place), false)
    },
  })
}
