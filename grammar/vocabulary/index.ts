/**
 * The door of the one table of words, and the lists that are drawn from it.
 *
 * Deliberately absent: variables, arithmetic, conditions and text templates. A number stands where it counts, with its unit,
 * so that a file can be read against the firmware menu line by line; `based-on` is the only way to say a thing once.
 */

import { boardWords, loadWords, roomWords } from './bench.ts'
import { coolerWords } from './cooler.ts'
import { courseWords } from './course.ts'
import { fileWords } from './file.ts'
import { fittedWords } from './fitted.ts'
import { partWords } from './part.ts'
import { profileWords } from './profile.ts'
import { runWords } from './run.ts'
import { definitionWords, type Place, type Word } from './types.ts'
import { usualOf } from './usual.ts'

export { mostCharacters, mostInBlock, mostInherited } from './slots.ts'
export * from './types.ts'

/**
 * The vocabulary: the one table of words. The checker, completion, hover, the formatter's widths, the syntax
 * colouring's word list and the language reference are all read from it.
 */
export const vocabulary: readonly Word[] = withUsual([
  ...fileWords,
  ...partWords,
  ...coolerWords,
  ...roomWords,
  ...boardWords,
  ...loadWords,
  ...profileWords,
  ...runWords,
  ...fittedWords,
  ...courseWords,
])

/** Words whose values usually lie in a range have it with them. */
function withUsual(words: readonly Word[]): readonly Word[] {
  return words.map(word => {
    const usual = Object.assign({}, ...word.in.map(place => usualOf(place, word.word)))
    return Object.keys(usual).length === 0 ? word : { ...word, usual }
  })
}

/** The version of the language that this table describes. */
export const languageVersion = 1

/** Loads that exist without a definition. */
export const builtInLoads = ['idle', 'off'] as const

export function isBuiltInLoad(name: string): boolean {
  return builtInLoads.some(load => load === name)
}

const byPlace = new Map<Place, Map<string, Word>>()
for (const word of vocabulary) {
  for (const place of word.in) {
    const words = byPlace.get(place) ?? new Map<string, Word>()
    byPlace.set(place, words.set(word.word, word))
  }
}

/** The words that may stand in a place, rows of its table among them (with an empty word). */
export function wordsIn(place: Place): readonly Word[] {
  return [...(byPlace.get(place)?.values() ?? [])]
}

/** The entry for a key word at a place; an empty word finds the row of a table. */
export function findWord(place: Place, word: string): Word | undefined {
  return byPlace.get(place)?.get(word)
}

/** The places where a key word is known; for messages about a word in the wrong place. */
export function placesOf(word: string): readonly Place[] {
  return [...byPlace].filter(([, words]) => words.has(word)).map(([place]) => place)
}

/** What counts where the word is left out, in words: `3000 J/K (air: 400 J/K)`. */
export function defaultText({ default: stated }: Word): string | undefined {
  if (stated === undefined) return undefined
  const others = Object.entries(stated.kinds ?? {}).map(([kind, own]) => `${kind}: ${own.text}`)
  return others.length === 0 ? stated.text : `${stated.text} (${others.join(', ')})`
}

/** What a usual value is worth, in words; undefined for words without one. */
export function spreadText({ default: stated }: Word): string | undefined {
  return stated?.spread === undefined
    ? undefined
    : `the usual value, right within a factor of ${stated.spread} two times in three (engineering judgement, no source)`
}

/** Whether a word opens a definition; a file may have any number of them. */
export function opensDefinition({ word, in: places }: Word): boolean {
  return places.includes('file') && (definitionWords as readonly string[]).includes(word)
}

/** Words that open a block inside a definition. */
export const blockWords: ReadonlySet<string> = new Set(
  vocabulary.filter(word => word.block !== undefined && !word.in.includes('file')).map(word => word.word),
)

/**
 * Whether a line that starts like this opens a block, to fix lost braces: a block word, or a
 * definition word with a name behind it.
 */
export function opensBlock(first: string, second: string | undefined): boolean {
  return blockWords.has(first) || (second !== undefined && (definitionWords as readonly string[]).includes(first))
}

/** Whether it may stand in any block: remarks, and what accepts findings. */
export function standsEverywhere(word: Word): boolean {
  return word.in.length > 1 && word.in.includes('file')
}

/** Whether no prediction is other for what stands behind the word. */
export function changesNoPrediction(word: Word): boolean {
  return word.carried === true || word.judges === true
}

const namesBench = ({ forms }: Word): boolean => forms.some(([first]) => first?.slot === 'reference')
const hasRows = ({ block }: Word): boolean => block !== undefined && findWord(block, '') !== undefined
const namesOf = (words: readonly Word[]): readonly string[] => words.map(({ word }) => word)
const ownWords = (place: Place): readonly Word[] => wordsIn(place).filter(one => !standsEverywhere(one))

/** Words that say something about the lines around them, in whatever block. */
export const remarkWords: readonly string[] = namesOf(vocabulary.filter(standsEverywhere))

/** The keys of `limits`, in the language's order. */
export const limitWords: readonly string[] = namesOf(ownWords('limits'))

const settings = ownWords('profile').filter(word => word.judges !== true)

/** What a profile sets or names, in the language's order. */
export const profileSettings: readonly string[] = namesOf(settings)

/** What of it is entered somewhere: all but the names of the bench that it is for. */
const enteredSettings = settings.filter(word => !namesBench(word))
export const enteredWords: readonly string[] = namesOf(enteredSettings)

/** Tables of a profile: the nearest one along `based-on` counts whole. */
export const tableWords: readonly string[] = namesOf(enteredSettings.filter(hasRows))

/** Blocks of a profile whose keys count one by one, each where it is nearest. */
export const mergedWords: readonly string[] = namesOf(
  enteredSettings.filter(word => word.block !== undefined && !hasRows(word)),
)

/** Settings of a profile that a board's menu can label, in the language's order. */
export const menuSettings: readonly string[] = [
  'core-voltage',
  ...enteredSettings.flatMap(({ word, carried }) => {
    if (carried === true || word === 'voltage') return []
    return word === 'limits' ? limitWords : [word]
  }),
]
