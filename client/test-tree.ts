/** The tree of the Test Explorer: files, their profiles, and what those expect. */

import { Location, Range, type TestController, type TestItem, TestMessage, type TestRun, Uri, workspace } from 'vscode'

interface Place {
  readonly start: { readonly line: number; readonly character: number }
  readonly end: { readonly line: number; readonly character: number }
}

/** What the server tells of an expectation. */
export interface ToldExpectation {
  readonly profile: string
  readonly profileRange: Place
  readonly text: string
  readonly range: Place
  /** What it is about, whatever is asked of it: load, figure and comparison. */
  readonly about: string
  /** `at least 4.7 GHz` */
  readonly expected: string
  /** `4.653 GHz`; absent where there is no figure. */
  readonly figure?: string
  /** Null where it cannot be decided. */
  readonly holds: boolean | null
  /** It waits for a run over time; the server tells when that is made. */
  readonly pending?: true
  /** `83.1 %`, where constants carry `±`. */
  readonly chance?: string
  readonly message?: string
}

export interface ToldFile {
  readonly uri: string
  readonly expectations: readonly ToldExpectation[]
}

export interface TestTree {
  /** Brings the items of these files up to date; what did not change is left as it is, so that nothing flickers. */
  update(files: readonly ToldFile[]): void
  /** The expectations below an item, or below all. */
  leaves(item?: TestItem): readonly TestItem[]
  told(item: TestItem): ToldExpectation | undefined
  has(uri: string): boolean
  /** The files that are shown; their ids are their addresses. */
  files(): readonly TestItem[]
}

/** The one spelling that items are known by. */
export function fileId(uri: string): string {
  return Uri.parse(uri).toString()
}

function rangeOf({ start, end }: Place): Range {
  return new Range(start.line, start.character, end.line, end.character)
}

/** What stands behind the expectation: the predicted figure, and where constants carry `±` the probability. */
function figureText({ figure, chance, holds }: ToldExpectation): string {
  if (holds === null) return 'undecided'
  const probability = chance === undefined ? '' : `, probability ${chance}`
  return `${figure ?? 'no steady temperature'}${probability}`
}

/** Writes one verdict into a run. One that waits for a run over time is left as it is. */
export function report(run: TestRun, item: TestItem, told: ToldExpectation): void {
  if (told.pending) return
  if (told.holds === true) run.passed(item)
  // As in the command's reports for build servers: what cannot be judged did not run.
  else if (told.holds === null) run.skipped(item)
  else {
    // Both figures in words first: the editor shows the beginning beside the line, and of a difference only `a != b`.
    const figures = `${told.figure ?? 'no steady temperature'} predicted, ${told.expected} expected`
    const message = new TestMessage(told.message === undefined ? figures : `${figures}. ${told.message}`)
    // At the profile's own line: where it inherits the expectation, the line that states it may hold where it stands.
    if (item.uri !== undefined) message.location = new Location(item.uri, rangeOf(told.range))
    run.failed(item, message)
  }
}

function differ(one: Range | undefined, other: Range): boolean {
  return one === undefined || !one.isEqual(other)
}

export function createTestTree(controller: TestController): TestTree {
  /** Evicted with the item, which goes when its expectation does. */
  const known = new WeakMap<TestItem, ToldExpectation>()

  /** The item of this id among its siblings, made where there is none. */
  const itemOf = (parent: TestItem | undefined, id: string, label: string, uri: Uri): TestItem => {
    const siblings = parent === undefined ? controller.items : parent.children
    return siblings.get(id) ?? controller.createTestItem(id, label, uri)
  }

  const replace = (parent: TestItem, wanted: readonly TestItem[]): void => {
    const before: TestItem[] = []
    parent.children.forEach(one => {
      before.push(one)
    })
    if (before.length !== wanted.length || before.some((one, index) => one !== wanted[index])) {
      parent.children.replace([...wanted])
    }
  }

  const place = (item: TestItem, range: Range, index: number): void => {
    if (differ(item.range, range)) item.range = range
    const sortText = String(index).padStart(4, '0')
    if (item.sortText !== sortText) item.sortText = sortText
  }

  const updateProfile = (item: TestItem, uri: Uri, list: readonly ToldExpectation[]): void => {
    const times = new Map<string, number>()
    const items = list.map((told, index) => {
      // Known by what it is about, so that it stays the same test while its figure is being typed. Two may be about the
      // same; the second is then known by its number.
      const time = (times.get(told.about) ?? 0) + 1
      times.set(told.about, time)
      const id = `${item.id} ${told.about}${time === 1 ? '' : ` #${time}`}`
      const one = itemOf(item, id, told.text, uri)
      place(one, rangeOf(told.range), index)
      // Not as the item's description: the editor would read out that alone, without the name. While a run over time is
      // being made, the figure before it stays.
      const label = `${told.text}: ${figureText(told)}`
      if (!told.pending && one.label !== label) one.label = label
      known.set(one, told)
      return one
    })
    replace(item, items)
  }

  const updateFile = ({ uri: address, expectations }: ToldFile): void => {
    const id = fileId(address)
    if (expectations.length === 0) {
      controller.items.delete(id)
      return
    }
    const uri = Uri.parse(address)
    const file = itemOf(undefined, id, workspace.asRelativePath(uri), uri)
    const byProfile = new Map<string, ToldExpectation[]>()
    for (const told of expectations) byProfile.set(told.profile, [...(byProfile.get(told.profile) ?? []), told])
    const profiles = [...byProfile].map(([name, list], index) => {
      const item = itemOf(file, `${id} ${name}`, name, uri)
      if (list[0] !== undefined) place(item, rangeOf(list[0].profileRange), index)
      updateProfile(item, uri, list)
      return item
    })
    replace(file, profiles)
    if (controller.items.get(id) !== file) controller.items.add(file)
  }

  const leaves = (item?: TestItem): readonly TestItem[] => {
    const found: TestItem[] = []
    const visit = (one: TestItem): void => {
      if (known.has(one)) found.push(one)
      else one.children.forEach(visit)
    }
    if (item === undefined) controller.items.forEach(visit)
    else visit(item)
    return found
  }

  return {
    update: files => files.forEach(updateFile),
    leaves,
    told: item => known.get(item),
    has: uri => controller.items.get(fileId(uri)) !== undefined,
    files: () => {
      const found: TestItem[] = []
      controller.items.forEach(file => {
        found.push(file)
      })
      return found
    },
  }
}
