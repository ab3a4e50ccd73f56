/** What the hover of a cooler shows that its kind alone knows. */
import type { CoolerWord } from '../../../../grammar/vocabulary/cooler.ts'
import type { Cooler } from '../../../model/types.ts'
import type { Definition } from '../../../semantic/definitions.ts'
import { significant } from '../../../wording/figures.ts'

export interface CoolerHover<C extends Cooler = Cooler> {
  /** Paragraphs on what its constants come to. */
  figures(cooler: C, definition: Definition): readonly string[]
  /** What speaks against its figures, in a line each. */
  warnings?(cooler: C, definition: Definition): readonly string[]
  /** What one key comes to; undefined for keys that say it themselves, and for those that all kinds share. */
  key(cooler: C, word: CoolerWord): string | undefined
}

/** How fast a heat capacity warms. */
export function warmingText(jPerK: number): string {
  return `Each 100 W that do not leave it warm it by ${significant(6000 / jPerK, 3)} K a minute. Only figures over time use it.`
}
