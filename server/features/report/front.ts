/** The front page of a report, to be looked at: maps at one scale, clocks, gains, and the worst margins. */

import { drawGains, type GainRow } from '../../charts/gains.ts'
import type { Picture } from '../../charts/picture.ts'
import { isWork } from '../../model/index.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import type { Prediction } from '../../semantic/predict.ts'
import { column } from '../../wording/figures.ts'
import { cornerText } from '../../wording/places.ts'
import { visible } from '../../wording/visible.ts'
import type { Workspace } from '../../workspace/workspace.ts'
import type { Comparison } from '../compare/types.ts'
import { scoreSentences } from '../compare/words.ts'
import { figuresOf } from '../prediction-figures.ts'
import { type Drawable, drawnClocks, drawnMaps } from '../views/index.ts'
import { type Block, heading, table } from './blocks.ts'
import { groupsText, ownCell } from './groups.ts'
import type { Summarized } from './overview.ts'

const small = { width: 380, height: 264 }
const half = { width: 460, height: 264 }
/** By itself in its row, so that its letters are as large as the others'. */
const whole = { width: 700, height: 264 }

/** The gains of every profile's scores against the baseline; undefined where nothing was scored on both sides. */
function gainsPicture(comparisons: readonly Comparison[]): Picture | undefined {
  const scores = comparisons.flatMap(one => one.scores).filter(({ verdict }) => verdict !== 'baseline')
  const loads = new Set(scores.map(({ load, unit }) => `${load} ${unit}`))
  const rows = scores.flatMap((score): GainRow[] => {
    const { profile, load, gainPct, intervalPct } = score
    if (gainPct === null) return []
    return [
      {
        name: loads.size > 1 ? `${profile}, ${load}` : profile,
        gainPct,
        intervalPct: intervalPct ?? undefined,
        sentence: visible(scoreSentences([score]).join(' ')),
      },
    ]
  })
  const baseline = scores.find(({ against }) => against !== undefined)?.against?.profile
  if (rows.length === 0 || baseline === undefined) return undefined
  return drawGains(
    {
      title: `Scores against ${baseline}`,
      note: 'To the right is better. Line: 95 % interval; hollow: too few scores for one.',
      rows,
      figures: {
        head: ['profile', 'load', 'gain_pct', 'low_pct', 'high_pct'],
        rows: scores.map(({ profile, load, gainPct, intervalPct }) => [
          profile,
          load,
          gainPct,
          intervalPct?.[0] ?? null,
          intervalPct?.[1] ?? null,
        ]),
      },
    },
    { ...half, id: 'gains' },
  )
}

const marginHead = ['profile', 'load', 'cores', 'air, humidity', 'MHz', 'die °C', 'margin W', 'limiter', 'state']

/** The load and corner with the least margin; one that runs away has none and comes first. */
export function leastMargin({ predictions }: Evaluation): Prediction | undefined {
  const margin = ({ settled }: Prediction): number => settled.marginW ?? Number.NEGATIVE_INFINITY
  return predictions.filter(({ load }) => isWork(load.load)).toSorted((a, b) => margin(a) - margin(b))[0]
}

function marginRow({ evaluation }: Summarized): readonly string[][] {
  const worst = leastMargin(evaluation)
  if (worst === undefined) return []
  const row = figuresOf(evaluation, worst)
  return [
    [
      evaluation.profile.definition.name,
      row.load,
      ownCell(row, ({ cores }) => String(cores)),
      cornerText(worst.corner),
      ownCell(row, ({ clock_mhz }) => column(clock_mhz, 0)),
      column(row.die_c, 1),
      column(row.margin_w, 0),
      row.limiter,
      row.state,
    ],
  ]
}

export function frontBlocks(
  workspace: Workspace,
  all: readonly Summarized[],
  comparisons: readonly Comparison[],
): readonly Block[] {
  const drawn = all.map(({ evaluation }): Drawable => ({ workspace, evaluation }))
  // Two have room for larger letters.
  const isFew = drawn.length < 3
  const maps = drawnMaps(drawn, isFew ? half : small)
  const gains = gainsPicture(comparisons)
  const below = [drawnClocks(drawn, { ...(gains === undefined ? whole : half), id: 'clocks' }), gains]
  const plots = below.filter(picture => picture !== undefined)
  const rows = all.flatMap(marginRow)
  return [
    ...(maps.length === 0 ? [] : [{ kind: 'pictures', pictures: maps, perRow: isFew ? 2 : 3 } as const]),
    ...(plots.length === 0 ? [] : [{ kind: 'pictures', pictures: plots } as const]),
    ...(rows.length === 0
      ? []
      : [
          heading(3, 'Least margin of each profile'),
          table(marginHead, rows),
          ...groupsText(all.map(({ evaluation }) => evaluation)),
        ]),
  ]
}
