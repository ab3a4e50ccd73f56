/** Everything that is known of loaded files, as plain data, with what every answer must hold to. */
import type { Service } from '../../server/service.ts'

/** What no message may show: a figure that was never one, or a value of the program's own. */
const nonsense = /\b(?:NaN|undefined|null|Infinity)\b|\[object /

/** Texts of the file itself may have any word. */
function nonsenseIn(message: string, text: string): boolean {
  const found = nonsense.exec(message)?.[0]
  return found !== undefined && !text.includes(found)
}

/** Asks all that an editor can ask of a file. Throws where an answer is not sound. */
export function askAll(service: Service, uri: string, text: string, offsets: readonly number[]): void {
  const { features } = service
  for (const { finding, start, end } of service.findings(uri)) {
    if (!(start >= 0 && end >= start && end <= text.length))
      throw new Error(`${finding.code} stands outside the file: ${start} to ${end} of ${text.length}`)
    if (nonsenseIn(finding.message, text)) throw new Error(`${finding.code} says: ${finding.message}`)
  }
  const whole: unknown[] = [
    [...features.documentSymbols(uri)],
    [...features.folds(uri)],
    features.regions(uri),
    features.fileLinks(uri),
    [...features.meaningTokens(uri)],
    features.hints(uri),
    features.lenses(uri),
    features.resolvedLenses(uri),
    features.expectations(uri),
    features.workspaceSymbols(''),
    service.formatting(uri),
  ]
  for (const fix of features.quickFixes(uri, 0, text.length, {}).slice(0, 20)) whole.push(features.fixEdits(uri, fix))
  for (const share of offsets) {
    const offset = share % (text.length + 1)
    const hover = features.hover(uri, offset)
    if (hover !== undefined && nonsenseIn(JSON.stringify(hover), `${text} null`))
      throw new Error(`hover: ${JSON.stringify(hover)}`)
    whole.push(
      features.completions(uri, offset, 'invoked'),
      features.definition(uri, offset),
      features.references(uri, offset),
      features.renamable(uri, offset),
      features.rename(uri, offset, 'another-name'),
      features.selectionSpans(uri, offset),
    )
  }
  // Whatever is sent must be data that JSON can carry.
  JSON.stringify(whole)
}
