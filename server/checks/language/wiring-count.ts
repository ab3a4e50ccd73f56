import type { PureNumber } from '../../../grammar/values.ts'
import { entry, pureNumber, readChunk } from '../../semantic/definitions.ts'
import { counted } from '../../wording/counts.ts'
import { headPlace } from '../support/place.ts'
import type { Check, Fix, Place } from '../types.ts'

/** Other arrangements of so many modules: the one with as many in series first, then all in series. */
function arrangements(
  owner: { readonly chunk: Place['chunk'] },
  [series, parallel]: readonly [PureNumber, PureNumber],
  modules: number,
): readonly Fix[] {
  const kept = modules % series.value === 0 ? [[series.value, modules / series.value]] : []
  const all = kept.some(([first]) => first === modules) ? kept : [...kept, [modules, 1]]
  return all.map(([first, second], index) => {
    const text = `${first} by ${second}`
    const edits = [{ chunk: owner.chunk, start: series.start, end: parallel.end, text }]
    return { title: `Write \`wiring ${text}\``, edits, ...(index === 0 ? { preferred: true as const } : {}) }
  })
}

export const wiringCount: Check = {
  code: 'wiring-count',
  severity: 'error',
  title: 'A wiring of more or fewer modules than there are',
  page: {
    what: 'The two numbers of `wiring S by P` against `modules`: S in series in each of P strings are S · P modules.',
    why: 'The voltage of the supply falls on the modules in series, and its current is shared among the strings. With another count every current is wrong, and so is every plate temperature; nothing is predicted until the two agree.',
    remedy: 'Follow the leads and count: modules in one string first, then strings.',
    example:
      'cooler te-plate kind thermoelectric {\n  modules 4\n  wiring 2 by 3                         # 6 modules\n}',
  },
  *inChunk(chunk) {
    for (const definition of readChunk(chunk).definitions) {
      const line = entry(definition.match, 'wiring')
      const stated = entry(definition.match, 'modules')
      const modules = stated && pureNumber(stated)?.value
      const series = line && pureNumber(line, 'series')
      const parallel = line && pureNumber(line, 'parallel')
      if (line === undefined || modules === undefined || series === undefined || parallel === undefined) continue
      const wired = series.value * parallel.value
      if (wired === modules) continue
      yield {
        at: headPlace(definition, line),
        message: `\`wiring ${series.value} by ${parallel.value}\` is ${counted(wired, 'module')}, and the cooler has ${modules}. Nothing is predicted until they agree: the current through each module depends on it. Count the modules of one string, then the strings.`,
        fixes: arrangements(definition, [series, parallel], modules),
      }
    }
  },
}
