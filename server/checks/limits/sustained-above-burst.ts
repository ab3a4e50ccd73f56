import { quantity } from '../../semantic/definitions.ts'
import { statedText } from '../../wording/figures.ts'
import { setSustained } from '../support/physics-limits.ts'
import { settingPlace } from '../support/place.ts'
import type { Check } from '../types.ts'

export const sustainedAboveBurst: Check = {
  code: 'sustained-above-burst',
  severity: 'warning',
  title: 'The sustained power lies above the burst power',
  page: {
    what: 'Whether `sustained-power`, a limit on the mean, is above `burst-power`, which holds at every instant.',
    why: 'A mean cannot be above its own maximum: the sustained limit never acts, and cannot be relied on.',
    remedy: 'A sustained power at or below the burst power. Perhaps the two figures were swapped.',
    example: 'limits {\n  burst-power 180 W\n  sustained-power 220 W over 30 s\n}',
  },
  *inProfile(evaluation) {
    const { profile } = evaluation
    const sustained = profile.inner('limits', 'sustained-power')
    const burst = profile.inner('limits', 'burst-power')
    const sustainedW = sustained && quantity(sustained.match)?.value
    const burstW = burst && quantity(burst.match)?.value
    if (sustainedW === undefined || burstW === undefined || sustainedW <= burstW * (1 + 1e-6)) return
    // Where only the burst power is this profile's own, it is the one that was changed here.
    const own = [sustained, burst].find(sourced => sourced?.definition === profile.definition)
    const fix = setSustained(evaluation, Math.floor(burstW + 1e-9))
    yield {
      at: settingPlace(profile, own ?? sustained),
      message: `\`sustained-power ${statedText(sustainedW, 'W')}\` never acts: it is ${statedText(sustainedW - burstW, 'W')} above \`burst-power ${statedText(burstW, 'W')}\`, which holds at every instant. Set it to ${statedText(burstW, 'W')} or less.`,
      fixes: fix === undefined || burstW < 1 ? [] : [{ ...fix, preferred: true }],
    }
  },
}
