/** Messages compared with the protocol's own meta model: what is sent is what the protocol says, not what its library lets through. */
import { createProgressCheck } from './progress.ts'
import type { MetaModel, Property, Type, Validator } from './types.ts'

const anything: ReadonlySet<string> = new Set(['LSPAny', 'LSPObject', 'LSPArray'])

function checkBase(name: string, value: unknown, path: string): readonly string[] {
  const fits: Readonly<Record<string, (one: unknown) => boolean>> = {
    string: one => typeof one === 'string',
    DocumentUri: one => typeof one === 'string' && /^[a-z][a-z0-9+.-]*:/i.test(one),
    URI: one => typeof one === 'string' && /^[a-z][a-z0-9+.-]*:/i.test(one),
    RegExp: one => typeof one === 'string',
    integer: one => Number.isInteger(one) && Math.abs(one as number) <= 2 ** 31,
    uinteger: one => Number.isInteger(one) && (one as number) >= 0 && (one as number) < 2 ** 31,
    decimal: one => typeof one === 'number' && Number.isFinite(one),
    boolean: one => typeof one === 'boolean',
    null: one => one === null,
  }
  const test = fits[name]
  if (test === undefined) return [`${path}: unknown base type ${name}`]
  return test(value) ? [] : [`${path}: ${JSON.stringify(value) ?? 'undefined'} is no ${name}`]
}

export function createValidator(model: MetaModel): Validator {
  const structures = new Map(model.structures.map(one => [one.name, one]))
  const enumerations = new Map(model.enumerations.map(one => [one.name, one]))
  const aliases = new Map(model.typeAliases.map(one => [one.name, one.type]))

  const propertiesOf = (type: Type): readonly Property[] => {
    if (type.kind === 'literal') return type.value.properties
    if (type.kind === 'and') return type.items.flatMap(propertiesOf)
    if (type.kind !== 'reference') return []
    const structure = structures.get(type.name)
    if (structure === undefined) return []
    const own = structure.properties
    const names = new Set(own.map(one => one.name))
    const from = [...(structure.extends ?? []), ...(structure.mixins ?? [])].flatMap(propertiesOf)
    return [...own, ...from.filter(one => !names.has(one.name))]
  }

  const checkObject = (properties: readonly Property[], value: unknown, path: string): readonly string[] => {
    if (typeof value !== 'object' || value === null || Array.isArray(value)) return [`${path}: not an object`]
    const known = new Set(properties.map(one => one.name))
    const extra = Object.keys(value).filter(name => !known.has(name))
    const wrong = properties.flatMap(({ name, type, optional }) => {
      const inner = (value as Record<string, unknown>)[name]
      if (inner === undefined) return optional === true ? [] : [`${path}.${name}: missing`]
      return check(type, inner, `${path}.${name}`)
    })
    return [...wrong, ...extra.map(name => `${path}.${name}: not in the protocol`)]
  }

  const checkReference = (name: string, value: unknown, path: string): readonly string[] => {
    if (anything.has(name)) return value === undefined ? [`${path}: missing`] : []
    const alias = aliases.get(name)
    if (alias !== undefined) return check(alias, value, path)
    const enumeration = enumerations.get(name)
    if (enumeration !== undefined) {
      if (enumeration.supportsCustomValues === true) return check(enumeration.type, value, path)
      const listed = enumeration.values.some(one => one.value === value)
      return listed ? [] : [`${path}: ${JSON.stringify(value)} is no ${name}`]
    }
    return checkObject(propertiesOf({ kind: 'reference', name }), value, path)
  }

  const check = (type: Type, value: unknown, path: string): readonly string[] => {
    switch (type.kind) {
      case 'base':
        return checkBase(type.name, value, path)
      case 'reference':
        return checkReference(type.name, value, path)
      case 'array':
        if (!Array.isArray(value)) return [`${path}: not an array`]
        return value.flatMap((one, index) => check(type.element, one, `${path}[${index}]`))
      case 'map':
        if (typeof value !== 'object' || value === null) return [`${path}: not a map`]
        return Object.entries(value).flatMap(([key, one]) => check(type.value, one, `${path}.${key}`))
      case 'and':
        return checkObject(propertiesOf(type), value, path)
      case 'or': {
        const tried = type.items.map(item => check(item, value, path))
        // The alternative that fits best is the one to complain of.
        return tried.reduce((best, one) => (one.length < best.length ? one : best))
      }
      case 'tuple':
        if (!Array.isArray(value) || value.length !== type.items.length) return [`${path}: not a tuple`]
        return type.items.flatMap((item, index) => check(item, value[index], `${path}[${index}]`))
      case 'literal':
        return checkObject(type.value.properties, value, path)
      case 'stringLiteral':
      case 'integerLiteral':
      case 'booleanLiteral':
        return value === type.value ? [] : [`${path}: not ${JSON.stringify(type.value)}`]
    }
  }
  return { model, check }
}

export interface LoggedMessage {
  readonly from: 'client' | 'server'
  readonly message: unknown
}

interface Envelope {
  readonly jsonrpc?: unknown
  readonly id?: unknown
  readonly method?: string
  readonly params?: unknown
  readonly result?: unknown
  readonly error?: { readonly code?: unknown; readonly message?: unknown }
}

/** Methods that are an agreement between our own client and server, and those of the transport. */
function isOwn(method: string): boolean {
  return method.startsWith('detent/') || method.startsWith('$/')
}

/** What is wrong with the messages of a connection, in order. Answers are compared with the request they answer. */
export function checkMessages(validator: Validator, log: readonly LoggedMessage[]): readonly string[] {
  const { model, check } = validator
  const progress = createProgressCheck(validator)
  const requests = new Map(model.requests.map(one => [one.method, one]))
  const notifications = new Map(model.notifications.map(one => [one.method, one]))
  const pending = new Map<string, string>()
  const problems: string[] = []
  for (const { from, message } of log) {
    const { jsonrpc, id, method, params, result, error } = message as Envelope
    if (jsonrpc !== '2.0') problems.push(`${method}: not JSON-RPC 2.0`)
    if (method !== undefined) {
      if (id !== undefined) {
        pending.set(`${from} ${id}`, method)
        problems.push(...progress.request(from, method, params))
      }
      if (method === '$/progress') problems.push(...progress.progress(params))
      if (isOwn(method)) continue
      const known = (id === undefined ? notifications : requests).get(method)
      const direction = from === 'client' ? 'clientToServer' : 'serverToClient'
      if (known === undefined) problems.push(`${method}: not in the protocol`)
      else if (known.messageDirection !== 'both' && known.messageDirection !== direction)
        problems.push(`${method}: goes the other way`)
      else if (known.params !== undefined) problems.push(...check(known.params, params, method))
      continue
    }
    const key = `${from === 'client' ? 'server' : 'client'} ${id}`
    const asked = pending.get(key)
    pending.delete(key)
    if (asked === undefined) problems.push(`an answer to nothing: ${JSON.stringify(message)}`)
    else if (error !== undefined) {
      if (!Number.isInteger(error.code) || typeof error.message !== 'string') problems.push(`${asked}: malformed error`)
    } else if (!isOwn(asked)) {
      const type = requests.get(asked)?.result
      if (type !== undefined) problems.push(...check(type, result, `${asked} result`))
    }
  }
  problems.push(...progress.end())
  return problems
}
