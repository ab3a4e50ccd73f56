/** The parts of the protocol's meta model that a message is compared with, and the reduced model itself. */
import { readFileSync } from 'node:fs'

export type Type =
  | { readonly kind: 'base'; readonly name: string }
  | { readonly kind: 'reference'; readonly name: string }
  | { readonly kind: 'array'; readonly element: Type }
  | { readonly kind: 'map'; readonly key: Type; readonly value: Type }
  | { readonly kind: 'and' | 'or' | 'tuple'; readonly items: readonly Type[] }
  | { readonly kind: 'literal'; readonly value: { readonly properties: readonly Property[] } }
  | { readonly kind: 'stringLiteral' | 'integerLiteral' | 'booleanLiteral'; readonly value: unknown }

export interface Property {
  readonly name: string
  readonly type: Type
  readonly optional?: boolean
}

interface Structure {
  readonly name: string
  readonly properties: readonly Property[]
  readonly extends?: readonly Type[]
  readonly mixins?: readonly Type[]
}

interface Enumeration {
  readonly name: string
  readonly type: Type
  readonly values: readonly { readonly value: unknown }[]
  readonly supportsCustomValues?: boolean
}

interface Method {
  readonly method: string
  readonly params?: Type
  readonly result?: Type
  readonly partialResult?: Type
  readonly messageDirection: 'clientToServer' | 'serverToClient' | 'both'
  readonly serverCapability?: string
}

export interface MetaModel {
  /** Where the model comes from, and its version. */
  readonly source: string
  readonly requests: readonly Method[]
  readonly notifications: readonly Method[]
  readonly structures: readonly Structure[]
  readonly enumerations: readonly Enumeration[]
  readonly typeAliases: readonly { readonly name: string; readonly type: Type }[]
}

export interface Validator {
  readonly model: MetaModel
  /** What is wrong with a value as this type, one line for each thing; empty where nothing is. */
  check(type: Type, value: unknown, path: string): readonly string[]
}

/** The reduced model that stands beside this file; a test without it fails. */
export const metaModel = JSON.parse(readFileSync(new URL('./model.json', import.meta.url), 'utf8')) as MetaModel
