/** Assertions for hosts without Node's own. */

export function ok(value: unknown, what: string): asserts value {
  if (!value) throw new Error(`${what}: ${String(value)}`)
}

export function equal(actual: unknown, expected: unknown): void {
  if (actual !== expected) throw new Error(`expected ${JSON.stringify(expected)} but got ${JSON.stringify(actual)}`)
}

export function match(text: string, pattern: RegExp): void {
  if (!pattern.test(text)) throw new Error(`${JSON.stringify(text)} does not match ${pattern}`)
}
