/** A scope that is made after another says what may lead elsewhere, and keeps what does not. */

import fc from 'fast-check'
import { expect, test } from 'vitest'
import { parseFile } from '../../grammar/file.ts'
import { type Definition, readChunk } from '../../server/semantic/definitions.ts'
import { createRunsOverTime } from '../../server/semantic/over-time.ts'
import { createScope } from '../../server/semantic/scope.ts'

const text =
  'room a { air 20 °C }\nroom b { air 21 °C }\nload a { cores 1 }\nload b { cores 2 }\nprofile a { room a }\n'
const definitions = [text, text].flatMap(one =>
  parseFile(one).chunks.flatMap(({ chunk }) => readChunk(chunk).definitions),
)
const list = fc.array(fc.constantFrom(...definitions), { maxLength: 8 })
const kinds = ['room', 'load', 'profile', 'part'] as const

test('what differs between two scopes is among what is said to, and the names are the same where they are', () => {
  const overTime = createRunsOverTime()
  fc.assert(
    fc.property(list, list, (before: readonly Definition[], after: readonly Definition[]) => {
      const [earlier, fresh] = [createScope(before, overTime), createScope(after, overTime)]
      const later = createScope(after, overTime, earlier)
      const names = (scope: typeof later) => kinds.map(kind => new Set(scope.all(kind).map(({ name }) => name)))
      expect(later.names === earlier.names).toBe(
        JSON.stringify(names(later).map(one => [...one].sort())) ===
          JSON.stringify(names(earlier).map(one => [...one].sort())),
      )
      for (const kind of kinds) {
        expect(later.all(kind)).toEqual(fresh.all(kind))
        const isSame =
          earlier.all(kind).length === later.all(kind).length &&
          earlier.all(kind).every((one, index) => one === later.all(kind)[index])
        expect(later.since?.mayDiffer(kind, undefined)).toBe(!isSame)
        expect(later.all(kind) === earlier.all(kind)).toBe(isSame)
        for (const name of ['a', 'b']) {
          expect(later.find(kind, name)).toBe(fresh.find(kind, name))
          if (later.find(kind, name) !== earlier.find(kind, name)) expect(later.since?.mayDiffer(kind, name)).toBe(true)
        }
      }
    }),
  )
})
