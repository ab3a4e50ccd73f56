/** A load of a profile as a cooling chart. */
import type { CoolingData, Level } from '../../charts/cooling.ts'
import { activeGroups, coolingShape, isWork } from '../../model/index.ts'
import { drivenPlate, runsCold } from '../../semantic/coolers/index.ts'
import { driveTargetC, driveText } from '../../semantic/drives.ts'
import { currentText, fixed, plain, powerText, ratioText, temperatureText } from '../../wording/figures.ts'
import { cornerText } from '../../wording/places.ts'
import { caseName, caseSentence } from './case-words.ts'
import type { Case, Scene } from './scene.ts'

function coolerPlace(scene: Scene, word?: string) {
  const { cooler } = scene.evaluation.profile
  return scene.placeOf(
    cooler,
    word === undefined ? undefined : cooler?.match.children.find(one => one.word?.word === word),
  )
}

function levelsOf(scene: Scene, { corner, settled }: Case): Pick<CoolingData, 'wet' | 'target' | 'rating'> {
  const { bench, evaluation } = scene
  const isCold = runsCold(bench.cooler)
  const wetName = settled.wetC < 0 ? 'frost point' : 'dew point'
  const wet: Level | undefined = isCold
    ? {
        at: settled.wetC,
        text: `${wetName} ${temperatureText(settled.wetC)}`,
        sentence: `${wetName} ${temperatureText(settled.wetC)} at ${cornerText(corner)}: a plate below it gets ${settled.wetC < 0 ? 'white' : 'wet'}.`,
        place: scene.placeOf(evaluation.profile.room),
      }
    : undefined
  const targetC = drivenPlate(bench.cooler) === undefined ? undefined : driveTargetC(bench.profile.drive, corner)
  const line = evaluation.profile.key('drive')
  const target: Level | undefined =
    targetC === undefined
      ? undefined
      : {
          at: targetC,
          text: `drive ${driveText(bench.profile.drive)}`,
          sentence: `Target of drive ${driveText(bench.profile.drive)}: ${temperatureText(targetC)}.`,
          place: scene.placeOf(line?.definition, line?.match),
        }
  const { ratingW } = bench.cooler
  const rating: Level | undefined =
    ratingW === undefined
      ? undefined
      : {
          at: ratingW,
          text: `rating ${plain(ratingW)} W`,
          sentence: `The cooler is rated for ${plain(ratingW)} W.`,
          place: coolerPlace(scene, 'rating'),
        }
  return { wet, target, rating }
}

/** Some currents along the carried curve, where the plate is driven by one that changes. */
function currentsOf(carried: ReturnType<typeof coolingShape>['carried']): CoolingData['currents'] {
  const driven = carried.flatMap(({ heatW, plateC, driveA }) => (driveA === null ? [] : [{ heatW, plateC, driveA }]))
  if (driven.length === 0) return []
  return [0.15, 0.4, 0.65, 0.9].flatMap(part => {
    const one = driven[Math.round(part * (driven.length - 1))]
    if (one === undefined) return []
    const { heatW, plateC, driveA } = one
    return [
      {
        heatW,
        plateC,
        text: currentText(driveA),
        sentence: `At ${powerText(heatW)} the modules draw ${currentText(driveA)} each and hold the plate at ${temperatureText(plateC)}.`,
      },
    ]
  })
}

/** The cooling chart of one case. */
export function coolingData(scene: Scene, one: Case): CoolingData {
  const { bench } = scene
  const { settled, corner, load } = one
  const shape = coolingShape(bench, load, corner, settled)
  const { powerW, plateC, marginW } = settled
  const coolerName = scene.evaluation.profile.cooler?.name ?? 'cooler'
  const edgeText = shape.edge?.by === 'die-limit' ? 'die limit' : 'tips'
  const ends = shape.edge === undefined ? undefined : `${edgeText} at ${fixed(shape.edge.heatW, 0)} W`
  const { coldestA } = settled.notes
  const worksHarder = coldestA === null ? '' : ` Beyond ${currentText(coldestA)} the plate would get warmer.`
  const { part } = bench
  /** The groups of cores that are at work; none where all cores are alike. */
  const busy =
    part.groups === undefined || !isWork(load)
      ? []
      : activeGroups(part, load).map(({ index }) => part.groups?.[index]?.name ?? '')
  const ratiosText = (ratios: readonly number[]): string =>
    ratios
      .map((ratio, at) => (busy[at] === undefined ? ratioText(ratio) : `${ratioText(ratio)} ${busy[at]}`))
      .join(', ')
  const nameOf = (ratios: readonly number[]): string => (ratios.length === 0 ? 'made' : `made at ${ratiosText(ratios)}`)
  const settledRatios = busy.map(name => settled.groups?.find(({ group }) => group === name)?.ratio ?? null)
  const noRatios = busy.map(() => null)
  return {
    title: `${scene.name}: ${coolerName} under ${caseName(one)}${scene.isWhatIf ? ' (what if)' : ''}`,
    note: `At ${cornerText(corner)}. Where heat made meets heat carried is where the load settles.${worksHarder}`,
    carried: {
      points: shape.carried,
      text: 'carried',
      sentence: `Heat carried by ${coolerName}: plate temperature under each heat.${worksHarder}`,
      place: coolerPlace(scene),
    },
    made: shape.made.map(({ ratios, points }, index) => ({
      points,
      // What the last one is called says what the others are.
      text: index === shape.made.length - 1 ? nameOf(ratios) : ratiosText(ratios),
      sentence: `Heat ${nameOf(ratios)} at each plate temperature, up to the die's ceiling.`,
    })),
    moved: shape.moved,
    settled:
      powerW === null || plateC === null
        ? undefined
        : {
            heatW: powerW,
            plateC,
            text: `${fixed(powerW, 0)} W, ${temperatureText(plateC)}`,
            sentence: `${caseSentence(one)}${worksHarder}`,
            place: scene.placeOf(one.definition),
          },
    edge:
      shape.edge === undefined || ends === undefined
        ? undefined
        : {
            ...shape.edge,
            text: ends,
            sentence:
              shape.edge.by === 'die-limit'
                ? `The die reaches its limit at ${fixed(shape.edge.heatW, 1)} W, the plate at ${temperatureText(shape.edge.plateC)}.`
                : `It tips at ${fixed(shape.edge.heatW, 1)} W with the die at ${temperatureText(shape.edge.dieC)}: beyond, leakage outruns the cooler.`,
          },
    margin:
      powerW === null || marginW === null
        ? undefined
        : {
            fromW: powerW,
            toW: powerW + marginW,
            text: `margin ${powerText(marginW)}`,
            sentence: `Margin: ${powerText(marginW)} more could be carried${ends === undefined ? '' : `, then it ${shape.edge?.by === 'die-limit' ? 'reaches the die limit' : 'tips'}`}.`,
          },
    ...levelsOf(scene, one),
    currents: currentsOf(shape.carried),
    figures: {
      head: ['curve', 'ratio', 'heat_w', 'plate_c', 'die_c', 'drive_a', ...busy.map(group => `ratio ${group}`)],
      rows: [
        ['settled', settled.ratio, powerW, plateC, settled.dieC, settled.driveA, ...settledRatios],
        ...(shape.edge === undefined
          ? []
          : [['edge', settled.ratio, shape.edge.heatW, shape.edge.plateC, shape.edge.dieC, null, ...settledRatios]]),
        ...shape.carried.map(({ heatW, plateC: at, driveA }) => [
          'carried',
          null,
          heatW,
          at,
          null,
          driveA,
          ...noRatios,
        ]),
        ...shape.made.flatMap(({ ratios, points }) =>
          points.map(point => [
            'made',
            ratios[0] ?? null,
            point.heatW,
            point.plateC,
            point.dieC,
            null,
            ...(busy.length === 0 ? [] : ratios),
          ]),
        ),
      ],
    },
  }
}
