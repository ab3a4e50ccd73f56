// The page beside the text: shows what it is sent, and says what the person does. Nothing is worked out here.
// It is no module of the project: it runs in the editor's page, which has a document and no files.
const vscode = acquireVsCodeApi()
const at = id => document.getElementById(id)
const [picture, said, note, figures, load, pin] = ['picture', 'said', 'note', 'figures', 'load', 'pin'].map(at)
const against = at('against')
/** What stands in the list for commits, which are picked in the editor. */
const pickCommit = '@'
const sheet = new CSSStyleSheet()
document.adoptedStyleSheets = [sheet]
const sliders = ['airC', 'humidityPct', 'fanPct'].map(name => ({
  name,
  on: at(`${name}-on`),
  range: at(name),
  words: at(`${name}-said`),
}))

/** A screen reader hears of a growing log no more often than this. */
const aloudMs = 30_000
let heardAt = Number.NEGATIVE_INFINITY
let later

/** Writes what is seen at once, and says it aloud when the last time is long enough ago. */
function write(text) {
  note.textContent = text
  clearTimeout(later)
  if (text === '' || text === at('aloud').textContent) return
  const speak = () => {
    heardAt = performance.now()
    at('aloud').textContent = text
  }
  const waitMs = heardAt + aloudMs - performance.now()
  if (waitMs <= 0) speak()
  else later = setTimeout(speak, waitMs)
}

let view
let chosen = -1
let chosenBy = 'key'
let state = vscode.getState() ?? {}

const tell = message => vscode.postMessage(message)
function keep(more) {
  state = { ...state, ...more }
  vscode.setState(state)
}

function size() {
  const { clientWidth, clientHeight } = document.documentElement
  const width = Math.max(320, Math.round(clientWidth - 16))
  // A narrow picture is taller than wide: its labels need the room.
  return { width, height: Math.round(Math.min(Math.max(width * 0.66, 400), Math.max(300, clientHeight - 150))) }
}

function whatIf() {
  return Object.fromEntries(sliders.flatMap(({ name, on, range }) => (on.checked ? [[name, Number(range.value)]] : [])))
}

function ask() {
  keep({ load: state.load, against: state.against, whatIf: whatIf() })
  tell({ type: 'ask', load: state.load, against: state.against, whatIf: whatIf(), ...size() })
}

const groups = () => [...picture.querySelectorAll('.mark')]

function choose(index, by) {
  const all = groups()
  if (all.length === 0) return
  chosen = (index + all.length) % all.length
  chosenBy = by
  for (const [number, one] of all.entries()) one.classList.toggle('chosen', by === 'key' && number === chosen)
  said.textContent = view.marks[Number(all[chosen].dataset.mark)]?.sentence ?? ''
}

function go(group) {
  const mark = view?.marks[Number(group?.dataset.mark)]
  if (mark?.target !== undefined) tell({ type: 'go', ...mark.target })
}

function table({ head, rows }) {
  const made = document.createElement('table')
  const row = (cells, kind) => {
    const line = document.createElement('tr')
    for (const cell of cells) {
      const one = document.createElement(kind)
      one.textContent = cell === null ? '–' : typeof cell === 'number' ? String(Number(cell.toPrecision(7))) : cell
      line.append(one)
    }
    return line
  }
  const [top, body] = [made.createTHead(), made.createTBody()]
  top.append(row(head, 'th'))
  for (const cells of rows) body.append(row(cells, 'td'))
  return made
}

/** The profiles whose edges a map may have beside its own, and its own at a commit. */
function listOthers() {
  const { others, profile, commits, kind } = view
  const known =
    state.against?.startsWith('@') && kind === 'map' ? [[`${profile}@${state.against.slice(1, 9)}`, state.against]] : []
  const all = [
    ['no other', ''],
    ...others.map(name => [name, name]),
    ...known,
    ...(commits ? [['at a commit …', pickCommit]] : []),
  ]
  against.replaceChildren(...all.map(([name, value]) => new Option(name, value, false, value === state.against)))
  against.disabled = all.length === 1
}

function setAgainst(value) {
  keep({ against: value })
  ask()
}

function show(shown) {
  // A newer picture of the same leaves the mark that was stepped to.
  const stays = view?.title === shown.title && chosen < shown.marks.length ? chosen : -1
  view = shown
  document.body.classList.remove('waits')
  const isWhatIf = Object.keys(state.whatIf ?? {}).length > 0
  const conditions = isWhatIf ? 'What if: these conditions are not those of the file. ' : ''
  write(`${conditions}${shown.notice ?? ''}`.trim())
  sheet.replaceSync(shown.style)
  const parsed = new DOMParser().parseFromString(shown.svg, 'image/svg+xml').documentElement
  picture.replaceChildren(document.importNode(parsed, true))
  for (const group of groups())
    group.classList.toggle('goes', view.marks[Number(group.dataset.mark)]?.target !== undefined)
  // The group speaks for itself: what the picture shows is its name, what a mark says is read out below.
  picture.setAttribute(
    'aria-label',
    `${shown.title}. Arrow keys go from mark to mark, Enter to the line that decides one.`,
  )
  picture.firstElementChild?.setAttribute('aria-hidden', 'true')
  load.replaceChildren(
    ...shown.loads.map(name => new Option(name, name, false, name === (shown.load ?? shown.loads[0]))),
  )
  load.disabled = shown.kind === 'course'
  listOthers()
  if (!figures.hidden) figures.replaceChildren(table(shown))
  chosen = -1
  said.textContent = ''
  if (stays >= 0) choose(stays, chosenBy)
  document.body.dataset.shown = shown.title
}

picture.addEventListener('keydown', event => {
  const steps = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 }
  if (event.key in steps) choose(chosen < 0 && steps[event.key] < 0 ? -1 : chosen + steps[event.key], 'key')
  else if (event.key === 'Home') choose(0, 'key')
  else if (event.key === 'End') choose(-1, 'key')
  else if (event.key === 'Enter' && chosen >= 0) go(groups()[chosen])
  else return
  event.preventDefault()
})
picture.addEventListener('pointermove', event => {
  const group = event.target.closest?.('.mark')
  if (group !== null && group !== undefined) choose(groups().indexOf(group), 'pointer')
})
picture.addEventListener('click', event => go(event.target.closest?.('.mark')))
load.addEventListener('change', () => {
  keep({ load: load.value })
  ask()
})
against.addEventListener('change', () => {
  if (against.value !== pickCommit) return setAgainst(against.value)
  // Until a commit is picked the list says what is drawn.
  listOthers()
  tell({ type: 'commit' })
})
pin.addEventListener('click', () => {
  const isPinned = pin.getAttribute('aria-pressed') !== 'true'
  pin.setAttribute('aria-pressed', String(isPinned))
  keep({ isPinned })
  tell({ type: 'pin', isPinned })
})
at('again').addEventListener('click', () => tell({ type: 'again' }))
at('table').addEventListener('click', () => {
  figures.hidden = !figures.hidden
  at('table').setAttribute('aria-pressed', String(!figures.hidden))
  if (!figures.hidden && view !== undefined) figures.replaceChildren(table(view))
})
at('write').addEventListener('click', () => tell({ type: 'write' }))
for (const as of ['svg', 'csv', 'png']) at(as).addEventListener('click', () => tell({ type: 'save', as }))
for (const { name, on, range, words } of sliders) {
  const before = state.whatIf?.[name]
  // A page that was hidden or loaded again starts from what was kept.
  if (Number.isFinite(before)) {
    on.checked = true
    range.value = String(before)
  }
  const tellValue = () => {
    at('write').disabled = Object.keys(whatIf()).length === 0
    words.textContent = on.checked ? `${range.value} ${range.dataset.unit}` : 'as in the file'
  }
  on.addEventListener('change', () => {
    tellValue()
    ask()
  })
  range.addEventListener('input', () => {
    on.checked = true
    tellValue()
    ask()
  })
  tellValue()
}

/** Draws a picture's text on a canvas, twice as large, and sends it on as PNG. */
function png(text) {
  const address = URL.createObjectURL(new Blob([text], { type: 'image/svg+xml' }))
  const image = new Image()
  image.onload = () => {
    const canvas = Object.assign(document.createElement('canvas'), { width: image.width * 2, height: image.height * 2 })
    canvas.getContext('2d')?.drawImage(image, 0, 0, canvas.width, canvas.height)
    URL.revokeObjectURL(address)
    tell({ type: 'png', data: canvas.toDataURL('image/png').split(',')[1] })
  }
  image.src = address
}

function hear(data) {
  if (data?.type === 'view') {
    keep({ place: data.place })
    show(data.view)
  } else if (data?.type === 'waits') {
    document.body.classList.add('waits')
    write(view === undefined ? data.why : `${data.why} The last good picture stays.`)
  } else if (data?.type === 'against') setAgainst(data.against)
  else if (data?.type === 'png') png(data.text)
}
addEventListener('message', ({ data }) => hear(data))
// A page that was hidden or loaded again has shown something since.
if (state.place === undefined) hear(JSON.parse(at('first').textContent))
let width = 0
let waiting
new ResizeObserver(() => {
  if (Math.abs(document.documentElement.clientWidth - width) < 8) return
  width = document.documentElement.clientWidth
  clearTimeout(waiting)
  waiting = setTimeout(ask, 120)
}).observe(document.documentElement)
if (state.isPinned === true) pin.setAttribute('aria-pressed', 'true')
tell({
  type: 'ready',
  isPinned: state.isPinned === true,
  place: state.place,
  load: state.load,
  against: state.against,
  whatIf: whatIf(),
  ...size(),
})
