/**
 * What If: a field for statements that are written nowhere, below the text; what they would change stands beside the
 * lines of the text until the field is closed.
 */

import {
  CancellationTokenSource,
  CodeLens,
  type CompletionItem,
  CompletionList,
  commands,
  Diagnostic,
  DiagnosticSeverity,
  type Disposable,
  type Event,
  EventEmitter,
  type FileSystemProvider,
  FileType,
  Hover,
  languages,
  MarkdownString,
  type Position,
  Range,
  type Tab,
  type TextDocument,
  ThemeColor,
  Uri,
  ViewColumn,
  window,
  workspace,
} from 'vscode'
import type { BaseLanguageClient } from 'vscode-languageclient'
import { warn } from './messages.ts'
import { closingWhole } from './offered.ts'
import type { Papers } from './papers.ts'
import { profilesOf } from './resolved.ts'

/** The field is a document of its own, in memory: it is never a file. */
export const whatIfScheme = 'detent-what-if'

interface Told {
  readonly markdown?: string
  readonly glances?: readonly { readonly profile: string; readonly text: string }[]
  readonly marks?: readonly { readonly uri: string; readonly line: number; readonly text: string }[]
  readonly courses?: readonly Course[]
  readonly unread?: { readonly range: ProtocolRange; readonly message: string }
  readonly trouble?: string
}

/** A course that the profiles see, and whether what is said counts it. */
interface Course {
  readonly uri: string
  readonly name: string
  readonly range: ProtocolRange
  readonly isFollowed: boolean
}

interface ProtocolRange {
  readonly start: { readonly line: number; readonly character: number }
  readonly end: { readonly line: number; readonly character: number }
}

/** What is asked about. */
interface Subject {
  readonly uri: string
  readonly profile: string | undefined
}

/** Keeps the text of fields in memory. */
function createMemory(): FileSystemProvider {
  const texts = new Map<string, Uint8Array>()
  const changed = new EventEmitter<never[]>()
  const textOf = (uri: Uri): Uint8Array => texts.get(uri.toString()) ?? new Uint8Array()
  return {
    onDidChangeFile: changed.event,
    watch: () => ({ dispose: () => undefined }),
    // The time of a field never moves: the editor refuses a save where it is later than the one it read.
    stat: uri => ({ type: FileType.File, ctime: 0, mtime: 0, size: textOf(uri).length }),
    readDirectory: () => [],
    createDirectory: () => undefined,
    readFile: textOf,
    writeFile: (uri, content) => {
      texts.set(uri.toString(), content)
    },
    delete: uri => {
      texts.delete(uri.toString())
    },
    rename: () => undefined,
  }
}

/** How long the keys rest before the effect is asked for. */
const restMs = 150

function rangeOf({ start, end }: ProtocolRange): Range {
  return new Range(start.line, start.character, end.line, end.character)
}

/** The profile around the cursor. */
async function profileAt({ uri }: TextDocument, at: Position): Promise<string | undefined> {
  return (await profilesOf(uri)).find(({ range }) => range.contains(at))?.name
}

/** Whether statements are laid over what others show as written. */
export interface OpenField {
  isOpen(): boolean
  readonly onDidChange: Event<void>
}

export interface WhatIfs extends Disposable, OpenField {
  /** Opens the field for a profile; without one, for that at the cursor, or for all of the file. */
  open(file: unknown, profile: unknown): Promise<void>
  close(): Promise<void>
  /** Shows all that would change, as a page. */
  showAll(): Promise<void>
}

export function createWhatIf(client: BaseLanguageClient, papers: Papers): WhatIfs {
  const memory = createMemory()
  const problems = languages.createDiagnosticCollection('detent-what-if')
  const decoration = window.createTextEditorDecorationType({
    after: { color: new ThemeColor('editorInfo.foreground'), fontStyle: 'italic', margin: '0 0 0 2em' },
    isWholeLine: true,
  })
  const changed = new EventEmitter<void>()
  const whole = closingWhole()
  let field: Uri | undefined
  let subject: Subject | undefined
  let told: Told = {}
  let shown: Told = {}
  let timer: ReturnType<typeof setTimeout> | undefined
  let number = 0
  let opened = 0
  let isPageShown = false
  let isMoving = false
  let isFollowing = false
  /** Courses that were asked for by a hover or the page, wherever they are; they are followed until the field is closed. */
  const wanted = new Set<string>()
  /** Gives up what is being followed: a later statement does not wait for it. */
  let following = new CancellationTokenSource()

  const isField = (uri: Uri): boolean => uri.scheme === whatIfScheme
  const tabOf = (): Tab | undefined =>
    window.tabGroups.all
      .flatMap(({ tabs }) => tabs)
      .find(({ input }) => ((input ?? {}) as { readonly uri?: Uri }).uri?.toString() === field?.toString())
  const documentOf = (): TextDocument | undefined =>
    workspace.textDocuments.find(({ uri }) => uri.toString() === field?.toString())
  const draw = (): void => {
    for (const editor of window.visibleTextEditors) {
      if (editor.document.languageId !== 'detent' || isField(editor.document.uri)) continue
      const byLine = new Map<number, string[]>()
      for (const { uri, line, text } of shown.marks ?? []) {
        if (Uri.parse(uri).toString() !== editor.document.uri.toString()) continue
        byLine.set(line, [...(byLine.get(line) ?? []), text])
      }
      editor.setDecorations(
        decoration,
        [...byLine].map(([line, texts]) => {
          const { range } = editor.document.lineAt(Math.min(line, editor.document.lineCount - 1))
          return { range, renderOptions: { after: { contentText: `what if: ${texts.join('; ')}` } } }
        }),
      )
    }
  }
  const titleOf = ({ profile }: Subject): string => `What if ${profile ?? 'all profiles'}`
  const page = async (): Promise<void> => {
    if (subject === undefined || shown.markdown === undefined) return
    isPageShown = true
    await papers.show(titleOf(subject), { markdown: shown.markdown })
    for (const { name } of shown.courses ?? []) wanted.add(name)
    void follow()
  }
  const isInSight = ({ uri, range }: Course): boolean =>
    window.visibleTextEditors.some(
      ({ document, visibleRanges }) =>
        document.uri.toString() === Uri.parse(uri).toString() &&
        visibleRanges.some(one => one.intersection(rangeOf(range)) !== undefined),
    )
  const take = (found: Told): void => {
    told = found
    // While a statement is being typed the last effect stays, and the line above the field says so.
    if (found.marks !== undefined) shown = found
  }
  const tell = (): void => {
    draw()
    changed.fire()
    if (isPageShown && subject !== undefined && shown.markdown !== undefined)
      papers.update(titleOf(subject), { markdown: shown.markdown })
  }
  /** Courses take seconds, so they follow what is known at once: those in sight, and those that were asked for. */
  const follow = async (): Promise<void> => {
    const document = documentOf()
    const courses = told.courses ?? []
    const isDue = (one: Course): boolean => !one.isFollowed && (wanted.has(one.name) || isInSight(one))
    if (document === undefined || subject === undefined || isFollowing || !courses.some(isDue)) return
    const own = number
    const names = courses.filter(one => one.isFollowed || isDue(one)).map(({ name }) => name)
    const { token } = following
    isFollowing = true
    changed.fire()
    let isAnswered = false
    try {
      const asked = { ...subject, field: document.getText(), courses: names }
      const found = await client.sendRequest<Told>('detent/whatIf', asked, token)
      isAnswered = own === number
      if (isAnswered) take(found)
    } catch (error) {
      if (own === number) log(error)
    }
    // Whoever gave it up has begun again.
    if (token.isCancellationRequested) return
    isFollowing = false
    tell()
    // What came into sight meanwhile.
    if (isAnswered) await follow()
  }
  const log = (error: unknown): void =>
    client.outputChannel.appendLine(`What If: ${error instanceof Error ? error.message : error}`)
  const giveUp = (): void => {
    following.cancel()
    following.dispose()
    following = new CancellationTokenSource()
    isFollowing = false
  }
  const refresh = async (): Promise<void> => {
    const document = documentOf()
    if (document === undefined || subject === undefined) return
    giveUp()
    const own = ++number
    try {
      const found = await client.sendRequest<Told>('detent/whatIf', { ...subject, field: document.getText() })
      if (own !== number) return
      take(found)
      const { unread } = found
      problems.set(
        document.uri,
        unread === undefined ? [] : [new Diagnostic(rangeOf(unread.range), unread.message, DiagnosticSeverity.Error)],
      )
    } catch (error) {
      if (own !== number) return
      told = { trouble: 'There is no answer; the output has the details.' }
      log(error)
    }
    tell()
    await follow()
  }
  const soon = (): void => {
    clearTimeout(timer)
    timer = setTimeout(() => void refresh(), restMs)
  }
  const forget = (): void => {
    clearTimeout(timer)
    giveUp()
    wanted.clear()
    number++
    if (field !== undefined) memory.delete(field, { recursive: false })
    field = undefined
    subject = undefined
    told = {}
    shown = {}
    isPageShown = false
    problems.clear()
    draw()
    changed.fire()
    void commands.executeCommand('setContext', 'detent.isWhatIf', false)
  }
  const lensesOf = (): readonly string[] => {
    if (told.trouble !== undefined) return [told.trouble]
    if (told.unread !== undefined) return ['Does not read yet: what stands beside the text is from before']
    const glances = told.glances ?? []
    if (glances.length > 3) {
      const changed = glances.filter(({ text }) => text !== 'nothing changes')
      return [`Not written · ${changed.length} of ${glances.length} profiles would differ`]
    }
    return glances.map(({ profile, text }) => `Not written · ${profile}: ${text}`)
  }
  /** What the hover of a course, or of a line with an effect, does not show. */
  const hoverOf = ({ uri }: TextDocument, { line }: Position): string | undefined => {
    const isHere = (one: { readonly uri: string }): boolean => Uri.parse(one.uri).toString() === uri.toString()
    const course = told.courses?.find(
      ({ range, ...one }) => isHere(one) && line >= range.start.line && line <= range.end.line,
    )
    if (course?.isFollowed === false) {
      wanted.add(course.name)
      void follow()
      return `What if: course ${course.name} is being followed. What stands here is as written.`
    }
    const at = course?.range.start.line ?? line
    const texts = (shown.marks ?? []).filter(one => isHere(one) && one.line === at).map(({ text }) => text)
    if (texts.length > 0) return `What if: ${texts.join('; ')}. All else here is as written.`
    return course && `What if: course ${course.name} comes to the same.`
  }
  const disposables: Disposable[] = [
    problems,
    decoration,
    changed,
    workspace.registerFileSystemProvider(whatIfScheme, memory, { isCaseSensitive: true }),
    languages.registerCodeLensProvider(
      { scheme: whatIfScheme },
      {
        onDidChangeCodeLenses: changed.event,
        provideCodeLenses: () => {
          const top = new Range(0, 0, 0, 0)
          const waits = isFollowing ? ['Following courses …'] : []
          const said = [...waits, ...lensesOf()].map(
            title => new CodeLens(top, { title, command: 'detent.showWhatIf' }),
          )
          // What is said is as long as it is: in a narrow column its end is cut, and nothing else.
          return [
            new CodeLens(top, { title: 'Close', command: 'detent.closeWhatIf' }),
            new CodeLens(top, { title: 'Show all', command: 'detent.showWhatIf' }),
            ...said,
          ]
        },
      },
    ),
    languages.registerHoverProvider(
      { language: 'detent' },
      {
        provideHover: (document, position) => {
          const said = isField(document.uri) ? undefined : hoverOf(document, position)
          return said === undefined
            ? undefined
            : new Hover(new MarkdownString(said.replaceAll(/[\\`*_{}[\]()#+!|<>~-]/g, '\\$&')))
        },
      },
    ),
    languages.registerCompletionItemProvider(
      { scheme: whatIfScheme },
      {
        provideCompletionItems: (document, position, token, context) =>
          whole(document, position, context, token, async () => {
            if (subject === undefined) return []
            const items = await client.sendRequest<
              Parameters<typeof client.protocol2CodeConverter.asCompletionResult>[0]
            >('detent/whatIfCompletion', {
              ...subject,
              field: document.getText(),
              position: { line: position.line, character: position.character },
              trigger: context.triggerCharacter,
            })
            const found = await client.protocol2CodeConverter.asCompletionResult(items)
            const list: CompletionItem[] = Array.isArray(found) ? found : (found?.items ?? [])
            return new CompletionList(list, list.length > 0)
          }),
      },
      ' ',
      '"',
    ),
    workspace.onDidChangeTextDocument(({ document, contentChanges }) => {
      if (field === undefined || contentChanges.length === 0) return
      if (document.uri.toString() === field.toString()) {
        soon()
        // Kept as it is typed, so that closing asks for nothing.
        void document.save()
      } else if (document.languageId === 'detent') soon()
    }),
    window.onDidChangeVisibleTextEditors(() => {
      draw()
      void follow()
    }),
    window.onDidChangeTextEditorVisibleRanges(() => void follow()),
    window.tabGroups.onDidChangeTabs(({ closed }) => {
      // A tab that moves to another group is closed in the one and opened in the other.
      if (field !== undefined && !isMoving && closed.length > 0 && tabOf() === undefined) forget()
    }),
  ]
  return {
    open: async (file, profile) => {
      const editor = window.activeTextEditor
      const isGiven = typeof file === 'string'
      if (
        !isGiven &&
        (editor === undefined || editor.document.languageId !== 'detent' || isField(editor.document.uri))
      ) {
        warn('Place the cursor in a Detent file.')
        return
      }
      const document = isGiven ? await workspace.openTextDocument(Uri.parse(file, true)) : editor?.document
      if (document === undefined) return
      const name =
        typeof profile === 'string'
          ? profile
          : isGiven || editor === undefined
            ? undefined
            : await profileAt(document, editor.selection.active)
      forget()
      subject = { uri: document.uri.toString(), profile: name }
      // Each opening is a document of its own: the editor may still keep the last one, with its text.
      field = Uri.from({ scheme: whatIfScheme, path: `/${titleOf(subject)}.detent`, query: `${++opened}` })
      void commands.executeCommand('setContext', 'detent.isWhatIf', true)
      const own = await workspace.openTextDocument(field)
      await window.showTextDocument(own, { viewColumn: ViewColumn.Active, preview: false })
      isMoving = true
      await commands.executeCommand('workbench.action.moveEditorToBelowGroup')
      isMoving = false
      soon()
    },
    close: async () => {
      const tab = field === undefined ? undefined : tabOf()
      await documentOf()?.save()
      if (tab === undefined) forget()
      else await window.tabGroups.close(tab)
    },
    showAll: page,
    isOpen: () => subject !== undefined,
    onDidChange: changed.event,
    dispose: () => {
      clearTimeout(timer)
      following.dispose()
      for (const one of disposables) one.dispose()
    },
  }
}
