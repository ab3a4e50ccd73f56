import { dewPointC, frostPointC, wetPointC } from '../../model/index.ts'
import { roomCorners } from '../../semantic/constants.ts'
import type { Definition } from '../../semantic/definitions.ts'
import { percentText, plain, temperatureText } from '../../wording/figures.ts'
import { paragraphs, table } from '../markdown.ts'

/** Hover of a room: the dew point in every corner, with the formula and its inputs. */

const formula = 'Magnus form, WMO Guide No. 8 Annex 4.B, coefficients of Sonntag 1990: 17.62 and 243.12 °C over water'
const overIce = ', 22.46 and 272.62 °C over ice, the same vapour pressure'

export function roomFigures(room: Definition): string | undefined {
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
  return paragraphs(
    table(head, rows),
    `${formula}${frosty ? overIce : ''}; inputs are the air temperature and the relative humidity.`,
    frosty ? 'Where there is a frost point, it is the one that counts: ice forms first.' : undefined,
  )
}
