/** The output contract, written out by hand: what others may rely on in the JSON outputs. */

type Kind = 'string' | 'number' | 'boolean' | 'null' | 'strings' | 'numbers' | 'object' | 'objects' | 'ends'

type Shape = Readonly<Record<string, readonly Kind[]>>

const findingKeys: Shape = {
  file: ['string'],
  line: ['number'],
  column: ['number'],
  endLine: ['number'],
  endColumn: ['number'],
  severity: ['string'],
  code: ['string'],
  message: ['string'],
  page: ['string'],
}
const findingOptional: Shape = { profile: ['string'], load: ['string'], course: ['string'], room: ['string'] }

const expectationKeys: Shape = {
  file: ['string'],
  line: ['number'],
  profile: ['string'],
  text: ['string'],
  predicted: ['number', 'null'],
  unit: ['string'],
  holds: ['boolean', 'null'],
}
const expectationOptional: Shape = { course: ['string'], probability: ['number'] }

const figure: readonly Kind[] = ['number', 'null']
const predictionKeys: Shape = {
  file: ['string'],
  profile: ['string'],
  load: ['string'],
  cores: ['number'],
  room: ['string'],
  air_c: ['number'],
  humidity_pct: ['number'],
  state: ['string'],
  limiter: ['string'],
  ratio: figure,
  ratio_low: figure,
  ratio_high: figure,
  share_high: figure,
  clock_mhz: figure,
  set_v: figure,
  voltage_v: figure,
  need_v: figure,
  power_w: figure,
  dynamic_w: figure,
  leakage_w: figure,
  current_a: figure,
  die_c: figure,
  plate_c: figure,
  coolant_c: figure,
  fan_pct: figure,
  drive_a: figure,
  drive_w: figure,
  wet_c: ['number'],
  margin_w: figure,
  assumed: ['strings'],
}

/** The first is there for a part with groups; the others are absent where no constant carries `±`. */
const predictionOptional: Shape = { groups: ['objects'], interval: ['object'], interval_by: ['string'] }
const groupKeys: Shape = {
  group: ['string'],
  cores: ['number'],
  ratio: figure,
  ratio_low: figure,
  ratio_high: figure,
  clock_mhz: figure,
  set_v: figure,
  voltage_v: figure,
  need_v: figure,
  dynamic_w: figure,
  leakage_w: figure,
  current_a: figure,
  core_c: figure,
}
const ends: readonly Kind[] = ['ends', 'null']
const intervalKeys: Shape = { clock_mhz: ends, power_w: ends, die_c: ends, plate_c: ends, margin_w: ends }
const groupIntervalKeys: Shape = {
  group: ['string'],
  clock_mhz: ends,
  voltage_v: ends,
  current_a: ends,
  core_c: ends,
}

function kindOf(value: unknown): Kind | 'other' {
  if (value === null) return 'null'
  if (Array.isArray(value)) {
    if (value.length === 2 && value.every(item => item === null || typeof item === 'number')) return 'ends'
    if (value.every(item => typeof item === 'string')) return 'strings'
    if (value.every(item => typeof item === 'number')) return 'numbers'
    return value.every(item => kindOf(item) === 'object') ? 'objects' : 'other'
  }
  if (typeof value === 'object') return 'object'
  const type = typeof value
  return type === 'string' || type === 'number' || type === 'boolean' ? type : 'other'
}

function intervalFaults(where: string, interval: unknown): string[] {
  const { groups = [] } = interval as { readonly groups?: readonly unknown[] }
  const ofGroups = groups.flatMap((one, index) => faultsOf(`${where} of group ${index}`, one, groupIntervalKeys))
  return [...faultsOf(where, interval, intervalKeys, { groups: ['objects'] }), ...ofGroups]
}

/** What is wrong with an object, one line each. */
function faultsOf(where: string, value: unknown, required: Shape, optional: Shape = {}): string[] {
  if (typeof value !== 'object' || value === null) return [`${where} is no object`]
  const object = value as Record<string, unknown>
  const missing = Object.keys(required).filter(key => !(key in object))
  const faults = missing.map(key => `${where} lacks ${key}`)
  for (const [key, item] of Object.entries(object)) {
    const kinds = required[key] ?? optional[key]
    const kind = kindOf(item)
    if (kinds === undefined) faults.push(`${where} has ${key}, which nobody knows`)
    else if (kind === 'other' || !kinds.includes(kind)) faults.push(`${where}: ${key} is ${kind}`)
  }
  return faults
}

const severities = ['error', 'warning', 'information', 'hint']
const states = ['steady', 'alternating', 'throttled', 'over-limit', 'runaway']
const limiters = ['step', 'band', 'vector', 'sustained-power', 'burst-power', 'current', 'die-limit', 'none']

function listOf(value: unknown, key: string): readonly unknown[] {
  const list = (value as Record<string, unknown>)[key]
  return Array.isArray(list) ? list : []
}

/** @param optional keys that may be absent */
function topFaults(value: unknown, lists: readonly string[], optional: readonly string[] = []): string[] {
  const object = (value ?? {}) as Record<string, unknown>
  const faults = object.version === 1 ? [] : ['version is not 1']
  const wanted = ['version', ...lists, ...optional.filter(key => key in object)].sort().join()
  if (Object.keys(object).sort().join() !== wanted) faults.push(`the keys are not ${wanted}`)
  return [...faults, ...lists.filter(list => !Array.isArray(object[list])).map(list => `${list} is no list`)]
}

/** What is wrong with the JSON of `check`; nothing where it keeps the contract. */
export function checkFaults(value: unknown): string[] {
  const faults = topFaults(value, ['findings', 'expectations'], ['unread'])
  listOf(value, 'unread').forEach((one, index) => {
    faults.push(...faultsOf(`unread ${index}`, one, { file: ['string'], lines: ['numbers'] }))
  })
  listOf(value, 'findings').forEach((finding, index) => {
    const where = `finding ${index}`
    faults.push(...faultsOf(where, finding, findingKeys, findingOptional))
    const { severity, line, column, endLine, endColumn } = finding as Record<string, number | string>
    if (!severities.includes(String(severity))) faults.push(`${where}: severity ${severity}`)
    const before = Number(endLine) < Number(line) || (endLine === line && Number(endColumn) < Number(column))
    if (before || Number(line) < 1 || Number(column) < 1) faults.push(`${where}: place`)
  })
  listOf(value, 'expectations').forEach((expectation, index) => {
    faults.push(...faultsOf(`expectation ${index}`, expectation, expectationKeys, expectationOptional))
  })
  return faults
}

/** What is wrong with the JSON of `predict`; nothing where it keeps the contract. */
export function predictFaults(value: unknown): string[] {
  const faults = topFaults(value, ['predictions'])
  listOf(value, 'predictions').forEach((prediction, index) => {
    const where = `prediction ${index}`
    faults.push(...faultsOf(where, prediction, predictionKeys, predictionOptional))
    const { state, limiter, interval, interval_by } = prediction as Record<string, unknown>
    if (interval !== undefined) faults.push(...intervalFaults(`${where}: interval`, interval))
    if (interval_by !== undefined && interval_by !== 'first-order' && interval_by !== 'draws')
      faults.push(`${where}: interval by ${interval_by}`)
    if (!states.includes(String(state))) faults.push(`${where}: state ${state}`)
    listOf(prediction, 'groups').forEach((group, at) => {
      faults.push(...faultsOf(`${where}: group ${at}`, group, groupKeys))
    })
    if (!limiters.includes(String(limiter))) faults.push(`${where}: limiter ${limiter}`)
  })
  return faults
}

const evidenceRowKeys: Shape = {
  ratio: ['number'],
  stated_v: ['number'],
  v95_v: ['number'],
  standard_uncertainty_v: ['number'],
  probability: ['number'],
  held_s: figure,
  held_v: figure,
  stops: ['number'],
  word: ['string'],
}
const ledgerWords = ['proven', 'contradicted', 'untested', 'unclear', 'likely', 'doubtful']

/** What is wrong with the JSON of `evidence`; nothing where it keeps the contract. */
export function evidenceFaults(value: unknown): string[] {
  const faults = faultsOf('evidence', { ...(value as object), rows: '', next: '' }, evidenceKeys)
  for (const list of ['rows', 'next'])
    if (!Array.isArray((value as Record<string, unknown>)[list])) faults.push(`${list} is no list`)
  listOf(value, 'next').forEach((one, index) => {
    faults.push(...proposalFaults(one, index))
  })
  listOf(value, 'rows').forEach((row, index) => {
    faults.push(...faultsOf(`row ${index}`, row, evidenceRowKeys))
    const { word, probability } = row as Record<string, unknown>
    if (!ledgerWords.includes(String(word))) faults.push(`row ${index}: word ${word}`)
    if (!(Number(probability) >= 0 && Number(probability) <= 1)) faults.push(`row ${index}: probability ${probability}`)
  })
  return faults
}

const evidenceKeys: Shape = {
  version: ['number'],
  part: ['string'],
  sharpness_v: figure,
  rows: ['string'],
  next: ['string'],
}

const proposalKeys: Shape = {
  profile: ['string'],
  load: ['string'],
  cores: ['number'],
  ratio: ['number'],
  set_v: ['number'],
  voltage_v: ['number'],
  die_c: ['number'],
  for_s: ['number'],
  stop_probability: ['number'],
  gain_per_min: ['number'],
  now_v: ['number'],
  after_hold_v: ['number'],
  after_stop_v: ['number'],
  if_held: ['object'],
  if_stopped: ['object'],
  run: ['string'],
}
const beliefKeys: Shape = { v95_v: ['number'], standard_uncertainty_v: ['number'] }

function proposalFaults(value: unknown, index: number): string[] {
  const where = `proposal ${index}`
  const { if_held, if_stopped } = value as Record<string, unknown>
  return [
    ...faultsOf(where, value, proposalKeys),
    ...faultsOf(`${where}: if held`, if_held, beliefKeys),
    ...faultsOf(`${where}: if stopped`, if_stopped, beliefKeys),
  ]
}

/** What is wrong with the JSON of `next`; nothing where it keeps the contract. */
export function nextFaults(value: unknown): string[] {
  const top: Shape = { version: ['number'], file: ['string'], profile: ['string'], part: ['string'] }
  const { rows, next, ...rest } = value as Record<string, unknown>
  const faults = faultsOf('next', rest, top)
  if (!Array.isArray(rows) || !Array.isArray(next)) return [...faults, 'rows or next is no list']
  rows.forEach((row, index) => {
    faults.push(...faultsOf(`row ${index}`, row, { ratio: ['number'], word: ['string'], ...beliefKeys }))
  })
  next.forEach((one, index) => {
    faults.push(...proposalFaults(one, index))
  })
  return faults
}

const reachChangeKeys: Shape = {
  kind: ['string'],
  file: ['string'],
  line: ['number'],
  from: ['number', 'string'],
  to: ['number', 'string'],
  unit: ['string', 'null'],
  asks: ['number'],
}
const reachAnswerKeys: Shape = { ...reachChangeKeys, bench: ['boolean'], predicted: figure }
const reachCostKeys: Shape = { load: ['string'], clock_mhz: ['number'] }

/** What is wrong with the JSON of `reach`; nothing where it keeps the contract. */
export function reachFaults(value: unknown): string[] {
  const { now, answers, pairs, looked, ...rest } = value as Record<string, unknown>
  const faults = faultsOf('reach', rest, { version: ['number'], profile: ['string'], expectation: ['string'] })
  faults.push(...faultsOf('now', now, { predicted: figure, unit: ['string'], holds: ['boolean', 'null'] }))
  if (looked !== undefined) faults.push(...faultsOf('looked', looked, { asks: ['number'], cut: ['boolean'] }))
  const costs = (where: string, one: unknown): void => {
    for (const cost of listOf(one, 'costs')) faults.push(...faultsOf(`${where}: cost`, cost, reachCostKeys))
  }
  if (!Array.isArray(answers) || !Array.isArray(pairs)) return [...faults, 'answers or pairs is no list']
  answers.forEach((answer, index) => {
    const { costs: _, ...own } = answer as Record<string, unknown>
    faults.push(...faultsOf(`answer ${index}`, own, reachAnswerKeys))
    costs(`answer ${index}`, answer)
  })
  pairs.forEach((pair, index) => {
    const { costs: _, changes, ...own } = pair as Record<string, unknown>
    faults.push(...faultsOf(`pair ${index}`, own, { asks: ['number'], predicted: figure }))
    costs(`pair ${index}`, pair)
    for (const change of changes as readonly unknown[]) {
      faults.push(...faultsOf(`pair ${index}: change`, change, reachChangeKeys))
    }
  })
  return faults
}
