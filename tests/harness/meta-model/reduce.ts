/**
 * Writes the reduced meta model that the protocol tests read: names, types and what is optional, without any of the
 * documentation.
 *
 * Usage: node tests/harness/meta-model/reduce.ts PATH
 * @param PATH the protocol's own metaModel.json, published with the specification by its makers
 */
import { readFileSync, writeFileSync } from 'node:fs'

const dropped = new Set([
  'documentation',
  'since',
  'sinceTags',
  'proposed',
  'deprecated',
  'typeName',
  'clientCapability',
])
const path = process.argv[2]
if (path === undefined) throw new Error('Name the path of metaModel.json.')
const { metaData, ...model } = JSON.parse(readFileSync(path, 'utf8')) as { metaData: { version: string } }
const source = `Language Server Protocol ${metaData.version}, metaModel.json of its specification (Microsoft, MIT licence), reduced`
const text = JSON.stringify({ source, ...model }, (key, value) => (dropped.has(key) ? undefined : value))
// One line for each request, type and property keeps a later version's diff readable.
writeFileSync(new URL('./model.json', import.meta.url), `${text.replaceAll('},{', '},\n{')}\n`)
