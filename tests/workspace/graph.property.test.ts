import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { createWorkspace, type Workspace } from '../../server/workspace/workspace.ts'

/** Who uses what, compared with what its definition says, whatever is opened, changed, closed, deleted and read again. */

const names = ['a', 'b', 'c', 'd', 'e'] as const
const uriOf = (name: string): string => `memory://w/${name}.detent`

/** What each file on disk uses; a file that is not there has none. */
type Disk = Map<string, readonly string[]>

const textOf = (uses: readonly string[]): string =>
  `detent 1\n${uses.map(name => `use "${name}.detent"\n`).join('')}room r {\n  air 20 °C\n}\n`

interface Step {
  readonly what: 'open' | 'close' | 'write' | 'delete'
  readonly name: string
  readonly uses: readonly string[]
}

const step: fc.Arbitrary<Step> = fc.record({
  what: fc.constantFrom('open', 'close', 'write', 'delete'),
  name: fc.constantFrom(...names),
  uses: fc.uniqueArray(fc.constantFrom(...names), { maxLength: 3 }),
})

/** All that a file reaches in one step or more, by what each file says. */
function reached(seen: ReadonlyMap<string, readonly string[]>, from: string): Set<string> {
  const found = new Set<string>()
  const visit = (name: string): void => {
    for (const used of seen.get(name) ?? []) {
      if (found.has(used)) continue
      found.add(used)
      visit(used)
    }
  }
  visit(from)
  return found
}

function expectGraph(workspace: Workspace, seen: ReadonlyMap<string, readonly string[]>): void {
  for (const name of names) {
    const users = names.filter(other => other !== name && reached(seen, other).has(name))
    expect(new Set(workspace.usersOf(uriOf(name))), `users of ${name}`).toEqual(new Set(users.map(uriOf)))
    const view = workspace.view(uriOf(name))
    if (!seen.has(name)) {
      expect(view).toBeUndefined()
      continue
    }
    const states = view?.uses.map(({ uri, state }) => [uri, state])
    const expected = (seen.get(name) ?? []).map(used => {
      if (!seen.has(used)) return [uriOf(used), 'missing']
      return [uriOf(used), used === name || reached(seen, used).has(name) ? 'cycle' : 'found']
    })
    expect(states, `uses of ${name}`).toEqual(expected)
    const sees = new Set([name, ...[...reached(seen, name)].filter(other => seen.has(other))].map(uriOf))
    expect(new Set(view?.documents.map(document => document.uri)), `what ${name} sees`).toEqual(sees)
  }
}

describe('who uses what', () => {
  it('is always what the files say', async () => {
    await fc.assert(
      fc.asyncProperty(fc.array(step, { minLength: 1, maxLength: 25 }), async steps => {
        const disk: Disk = new Map()
        const open: Disk = new Map()
        const encoder = new TextEncoder()
        const workspace = createWorkspace({
          read: async uri => {
            const uses = disk.get(names.find(name => uriOf(name) === uri) ?? '')
            return uses === undefined ? undefined : encoder.encode(textOf(uses))
          },
        })
        let version = 0
        for (const { what, name, uses } of steps) {
          const uri = uriOf(name)
          if (what === 'open') {
            open.set(name, uses)
            workspace.set(uri, textOf(uses), ++version)
          } else if (what === 'close') {
            if (!open.delete(name)) continue
            workspace.close(uri)
          } else {
            if (what === 'write') disk.set(name, uses)
            else disk.delete(name)
            workspace.forget([uri])
          }
          await workspace.load(names.map(uriOf))
          expectGraph(workspace, new Map([...disk, ...open]))
        }
      }),
      { numRuns: 300 },
    )
  })

  it('stays the same view while nothing that a file sees changes', async () => {
    const workspace = createWorkspace({ read: async () => undefined })
    workspace.set(uriOf('a'), textOf(['b']), 1)
    workspace.set(uriOf('b'), textOf([]), 1)
    workspace.set(uriOf('c'), textOf([]), 1)
    const view = workspace.view(uriOf('a'))
    workspace.set(uriOf('c'), textOf(['a']), 2)
    expect(workspace.view(uriOf('a'))).toBe(view)
    workspace.set(uriOf('b'), textOf([]), 2)
    expect(workspace.view(uriOf('a'))).not.toBe(view)
  })
})

describe('reading', () => {
  const uri = uriOf('a')

  /** A file that is read once more before the first reading has come; each comes when a test says so. */
  function readTwice() {
    const waiting: ((text: string) => void)[] = []
    const workspace = createWorkspace({
      read: () => new Promise(resolve => waiting.push(text => resolve(new TextEncoder().encode(text)))),
    })
    const first = workspace.load([uri])
    workspace.forget([uri])
    return { workspace, waiting, first, second: workspace.load([uri]) }
  }

  it('takes the newest of a file that changes while it is read', async () => {
    const { workspace, waiting, first, second } = readTwice()
    waiting[1]?.('detent 1 # new\n')
    await second
    waiting[0]?.('detent 1 # old\n')
    await first
    expect(workspace.document(uri)?.source.text).toBe('detent 1 # new\n')
  })

  it('lets whoever waits for an outdated reading wait for the next', async () => {
    const { workspace, waiting, first, second } = readTwice()
    waiting[0]?.('detent 1 # old\n')
    await Promise.resolve()
    waiting[1]?.('detent 1 # new\n')
    await Promise.all([first, second])
    expect(workspace.document(uri)?.source.text).toBe('detent 1 # new\n')
  })
})
