/** Sessions of an editor over files that change beneath it, compared with a server that has just been started. */
import { isDeepStrictEqual } from 'node:util'
import fc from 'fast-check'
import { benches } from '../grammar/fixtures.ts'
import { startClient, type TestClient } from '../harness/client.ts'
import { livingFile } from './texts.ts'

const names = ['a', 'b', 'c'] as const
type Name = (typeof names)[number]
const folder = 'memory://session/'
const uriOf = (name: Name): string => `${folder}${name}.detent`

export type Step =
  | { readonly kind: 'open' | 'close' | 'delete'; readonly name: Name }
  | { readonly kind: 'edit'; readonly name: Name; readonly at: number; readonly length: number; readonly text: string }
  | { readonly kind: 'write'; readonly name: Name; readonly text: string }
  | { readonly kind: 'move'; readonly name: Name; readonly to: Name }
  | { readonly kind: 'ask' }

const name = fc.constantFrom(...names)
/** Files that use each other, so that a change of one is one of others. */
const file = fc
  .tuple(fc.subarray([...names], { maxLength: 2 }), fc.oneof(livingFile, fc.constantFrom(...benches, '', 'detent 1\n')))
  .map(([used, text]) => used.map(one => `use "${one}.detent"\n`).join('') + text)
const inserted = fc.constantFrom(
  '',
  ' ',
  '\n',
  '{',
  '}',
  '5',
  '57x',
  '"',
  '#',
  'room garage {',
  '  3 to 4 cores 51x\n',
  '😀',
)

const step: fc.Arbitrary<Step> = fc.oneof(
  { weight: 2, arbitrary: fc.record({ kind: fc.constant('open' as const), name }) },
  { weight: 1, arbitrary: fc.record({ kind: fc.constantFrom('close' as const, 'delete' as const), name }) },
  {
    weight: 5,
    arbitrary: fc.record({ kind: fc.constant('edit' as const), name, at: fc.nat(), length: fc.nat(4), text: inserted }),
  },
  { weight: 2, arbitrary: fc.record({ kind: fc.constant('write' as const), name, text: file }) },
  { weight: 1, arbitrary: fc.record({ kind: fc.constant('move' as const), name, to: name }) },
  { weight: 3, arbitrary: fc.record({ kind: fc.constant('ask' as const) }) },
)
export const steps: fc.Arbitrary<readonly Step[]> = fc.array(step, { minLength: 3, maxLength: 14 })

interface World {
  /** On disk. */
  readonly files: Record<string, string>
  /** In the editor. */
  readonly open: Map<Name, { text: string; version: number }>
}

const placeOf = (text: string, offset: number): { line: number; character: number } => {
  const before = text.slice(0, offset).split('\n')
  return { line: before.length - 1, character: before.at(-1)?.length ?? 0 }
}
/** Not within a character of two units, where no editor has its cursor. */
const between = (text: string, offset: number): number =>
  offset > 0 && /[\udc00-\udfff]/.test(text.charAt(offset)) ? offset - 1 : offset

const CREATED = 1
const CHANGED = 2
const DELETED = 3

/** Does one step in the world, and says it to the client where there is one. */
async function take(world: World, one: Step, client: TestClient): Promise<void> {
  const { files, open } = world
  const watched = (changes: readonly (readonly [Name, number])[]): Promise<void> =>
    client.notify('workspace/didChangeWatchedFiles', {
      changes: changes.map(([of, type]) => ({ uri: uriOf(of), type })),
    })
  switch (one.kind) {
    case 'open': {
      const text = files[uriOf(one.name)]
      if (text === undefined || open.has(one.name)) return
      open.set(one.name, { text, version: 1 })
      return client.open(uriOf(one.name), text)
    }
    case 'close':
      if (open.delete(one.name)) await client.close(uriOf(one.name))
      return
    case 'edit': {
      const document = open.get(one.name)
      if (document === undefined) return
      const { text } = document
      const start = between(text, one.at % (text.length + 1))
      const end = Math.max(start, between(text, Math.min(text.length, start + one.length)))
      const range = { start: placeOf(text, start), end: placeOf(text, end) }
      document.text = text.slice(0, start) + one.text + text.slice(end)
      return client.change(uriOf(one.name), ++document.version, [{ range, text: one.text }])
    }
    case 'write': {
      const isNew = !(uriOf(one.name) in files)
      files[uriOf(one.name)] = one.text
      return watched([[one.name, isNew ? CREATED : CHANGED]])
    }
    case 'delete':
      if (!(uriOf(one.name) in files)) return
      delete files[uriOf(one.name)]
      return watched([[one.name, DELETED]])
    case 'move': {
      const text = files[uriOf(one.name)]
      if (text === undefined || one.name === one.to) return
      const isNew = !(uriOf(one.to) in files)
      delete files[uriOf(one.name)]
      files[uriOf(one.to)] = text
      return watched([
        [one.name, DELETED],
        [one.to, isNew ? CREATED : CHANGED],
      ])
    }
    case 'ask':
      return
  }
}

/** Whether a file, by its diagnostics, has no error: lenses and hints then keep nothing of an older text. */
function isFreeOfErrors(answer: unknown): boolean {
  const { items = [] } = answer as { readonly items?: readonly { readonly severity: number }[] }
  return !items.some(({ severity }) => severity === 1)
}

/**
 * What a server says of every file that is open, and of the folder. Lenses and hints only where no file has an error:
 * while a line does not read they keep what they last showed, on purpose.
 */
async function said(client: TestClient, world: World): Promise<unknown> {
  const answers: unknown[] = []
  for (const [of, { text }] of [...world.open].sort(([a], [b]) => a.localeCompare(b))) {
    const textDocument = { uri: uriOf(of) }
    const methods = ['diagnostic', 'documentSymbol', 'foldingRange', 'semanticTokens/full', 'documentLink']
    for (const method of methods) {
      const answer = await client.request<object | null>(`textDocument/${method}`, { textDocument })
      // Names of states, which say nothing of the state.
      answers.push([of, method, answer === null || Array.isArray(answer) ? answer : { ...answer, resultId: 0 }])
    }
    for (const share of [0.2, 0.5, 0.8]) {
      const position = placeOf(text, between(text, Math.floor(share * text.length)))
      answers.push([of, 'hover', await client.request('textDocument/hover', { textDocument, position })])
    }
  }
  const found = await client.request<{ readonly location: { readonly uri: string } }[] | null>('workspace/symbol', {
    query: '',
  })
  answers.push(['symbols', (found ?? []).map(one => JSON.stringify(one)).sort()])
  const { items } = await client.request<{ readonly items: readonly unknown[] }>('workspace/diagnostic', {
    previousResultIds: [],
  })
  if (!items.every(isFreeOfErrors)) return answers
  const range = { start: { line: 0, character: 0 }, end: { line: 100_000, character: 0 } }
  for (const of of [...world.open.keys()].sort()) {
    const textDocument = { uri: uriOf(of) }
    answers.push([of, 'codeLens', await client.request('textDocument/codeLens', { textDocument })])
    answers.push([of, 'inlayHint', await client.request('textDocument/inlayHint', { textDocument, range })])
  }
  return answers
}

/** Together three seconds: findings wait for 1.5 s where a line was being typed. */
const tries = 18

/**
 * What both say once they agree, or at the end of a patience of seconds: runs over time are made after the first answer, and
 * an editor is then asked to ask again.
 */
async function settled(fresh: TestClient, edited: TestClient, world: World): Promise<readonly [unknown, unknown]> {
  for (let at = 0; ; at++) {
    const both = [await said(fresh, world), await said(edited, world)] as const
    if (at === tries || isDeepStrictEqual(both[0], both[1])) return both
    await new Promise(resolve => setTimeout(resolve, 20 * at))
  }
}

const startIn = (world: World): Promise<TestClient> => startClient({ folders: [folder], files: world.files })

/** Whether a step is kept from the server: what a control run does, to prove that a comparison would notice. */
export type Loses = (one: Step, index: number) => boolean

export async function sameAsFresh(list: readonly Step[], loses: Loses = () => false): Promise<void> {
  const world: World = {
    files: { [uriOf('a')]: benches[0] as string, [uriOf('b')]: `use "a.detent"\n${benches[1]}` },
    open: new Map(),
  }
  const edited = await startIn(world)
  const deaf: TestClient = {
    ...edited,
    notify: async () => {},
    open: async () => {},
    change: async () => {},
    close: async () => {},
  }
  try {
    for (const [index, one] of [...list, { kind: 'ask' } as const].entries()) {
      await take(world, one, loses(one, index) ? deaf : edited)
      if (one.kind !== 'ask' || world.open.size === 0) continue
      const fresh = await startIn(world)
      try {
        for (const [of, { text, version }] of world.open) await fresh.open(uriOf(of), text, version)
        const [was, is] = await settled(fresh, edited, world)
        if (!isDeepStrictEqual(was, is)) throw new Error(`step ${index}: ${firstDifference(was, is)}`)
      } finally {
        await fresh.stop()
      }
    }
  } finally {
    await edited.stop()
  }
}

function firstDifference(fresh: unknown, edited: unknown): string {
  const [a, b] = [fresh, edited] as [unknown[], unknown[]]
  const at = a.findIndex((one, index) => !isDeepStrictEqual(one, b[index]))
  return `a fresh server says ${JSON.stringify(a[at])?.slice(0, 1500)}\nthe edited one ${JSON.stringify(b[at])?.slice(0, 1500)}`
}
