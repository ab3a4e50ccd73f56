/** Hover of a room: the dew point in every corner, with the formula and its inputs. */

import { dewPointC, frostPointC, wetPointC } from '../../model/index.ts'
import type { Corner } from '../../model/types.ts'
import { roomCorners } from '../../semantic/constants.ts'
import type { Definition } from '../../semantic/definitions.ts'
import { percentText, plain, temperatureText } from '../../wording/figures.ts'
import { cornerText } from '../../wording/places.ts'
import { table } from '../markdown.ts'
import { type Told, told } from './told.ts'

const formula = 'Magnus form, WMO Guide No. 8 Annex 4.B, coefficients of Sonntag 1990: 17.62 and 243.12 °C over water'
const overIce = ', 22.46 and 272.62 °C over ice, the same vapour pressure'

export function roomFigures(room: Definition): Told | undefined {
  const corners = roomCorners(room).value
  if (corners === undefined) return undefined
  const frosty = corners.some(({ airC, humidityPct }) => dewPointC(airC, humidityPct) < 0)
  const rows = corners.map(({ airC, humidityPct }) => {
    const dew = dewPointC(airC, humidityPct)
    const row = [
      `${plain(airC)} °C`,
      percentText(humidityPct),
      temperatureText(dew < 0 ? dew : wetPointC(airC, humidityPct)),
    ]
    return frosty ? [...row, dew < 0 ? temperatureText(frostPointC(airC, humidityPct)) : ''] : row
  })
  const head = ['Air', 'Humidity', 'Dew point', ...(frosty ? ['Frost point'] : [])]
  const [first] = corners
  const wet = (corner: Corner): number => wetPointC(corner.airC, corner.humidityPct)
  const wettest = first && corners.reduce((best, one) => (wet(one) > wet(best) ? one : best), first)
  return told({
    lines: [
      wettest &&
        `Water or ice forms on what is colder than **${temperatureText(wet(wettest))}**, at ${cornerText(wettest)}.`,
      frosty ? 'Where there is a frost point, it is the one that counts: ice forms first.' : undefined,
    ],
    tables: [table(head, rows)],
    rest: [`${formula}${frosty ? overIce : ''}; inputs are the air temperature and the relative humidity.`],
  })
}
