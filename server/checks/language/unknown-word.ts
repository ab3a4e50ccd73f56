import { type Place as Block, placesOf } from '../../../grammar/vocabulary/index.ts'
import { quotedList } from '../../wording/counts.ts'
import { replaceFix, suggestions } from '../support/edits.ts'
import { insertBefore } from '../support/line-fixes.ts'
import { meantKey } from '../support/meant-key.ts'
import { matchesOfChunk } from '../support/walk.ts'
import type { Check, Found, Place } from '../types.ts'

function whereText(block: Block): string {
  return block === 'file' ? 'at the top level' : `in \`${block}\``
}

/** Yes and no as other notations have them. */
function answerMeant(word: string): string | undefined {
  if (/^(?:true|on|y|enabled?)$/.test(word)) return 'yes'
  return /^(?:false|off|n|none|disabled?)$/.test(word) ? 'no' : undefined
}

/** The one key word that, put before a line, makes it read. */
function lostHead(candidates: readonly string[], at: Place): string | undefined {
  // Behind `allow` any word reads.
  const serving = candidates.filter(one => one !== 'allow' && insertBefore(at.chunk, at.start, one).length > 0)
  return serving.length === 1 ? serving[0] : undefined
}

interface Unknown {
  readonly word: string
  readonly place: Block
  readonly candidates: readonly string[]
}

/** @param meant the key that is missing and could be meant, by a line whose first word is unknown */
function unknown(problem: Unknown, at: Place, isHead: boolean, meant: () => string | undefined): Found {
  const { word, place: block, candidates } = problem
  const answer = candidates.includes('yes') && candidates.includes('no') ? answerMeant(word) : undefined
  const near = suggestions(answer ?? word, answer === undefined ? candidates : [answer], at)
  const only = isHead || candidates.length !== 1 ? undefined : candidates[0]
  // Where one word alone can stand, it is meant, however unlike what stands there; or it was left out.
  const before = only ?? (isHead && near.fixes.length === 0 ? lostHead(candidates, at) : undefined)
  const lacking = before === undefined || near.fixes.length > 0 ? [] : insertBefore(at.chunk, at.start, before)
  const key = isHead && lacking.length === 0 && near.fixes.length === 0 ? meant() : undefined
  const other = only ?? key
  const instead = other === undefined ? near.fixes : [replaceFix(`Write \`${other}\``, at, other)]
  const fixes = lacking.length > 0 ? lacking : instead
  const { sentence } = near
  const elsewhere = isHead ? placesOf(word) : []
  const belongs =
    elsewhere.length === 0 || lacking.length > 0
      ? ''
      : ` It belongs ${elsewhere.length > 3 ? 'elsewhere' : elsewhere.map(whereText).join(' or ')}.`
  const missing = key === undefined ? '' : ` Write \`${key}\`, which is missing here.`
  const left = lacking.length > 0 ? ` Put \`${before}\` before it.` : ''
  const choices = !isHead && sentence === '' && left === '' ? ` Write ${quotedList(candidates, 'or')}.` : ''
  return {
    at,
    message: `\`${word}\` means nothing ${isHead ? whereText(block) : 'at this place'}. The line is left out of every ${block === 'menu' ? 'sheet' : 'prediction'} until it reads.${belongs}${sentence}${missing}${left}${choices}${block === 'menu' ? ' What `also` carries stands in double quotes.' : ''}`,
    ...(fixes.length > 0 ? { fixes } : {}),
  }
}

export const unknownWord: Check = {
  code: 'unknown-word',
  severity: 'error',
  title: 'A word that means nothing at its place',
  page: {
    what: 'A key word that the block does not know, a word inside a line that none of its forms has, and an `allow` for a check that does not exist.',
    why: 'A misspelt key is a missing setting: the prediction is for a bench that is not yours.',
    remedy: 'Take the word that the message suggests, or move the line to the block it belongs to.',
    example: 'limits {\n  dye 95 °C\n}',
  },
  *inChunk(chunk) {
    for (const { match, parent } of matchesOfChunk(chunk)) {
      for (const problem of match.problems) {
        if (problem.problem !== 'unknown-word') continue
        const at = { chunk, start: problem.start, end: problem.end }
        const meant = (): string | undefined => parent && meantKey(chunk, parent, match)
        yield unknown(problem, at, match.word === undefined, meant)
      }
    }
  },
  *inFile({ view, codes }) {
    for (const { code, codeSpan, chunk } of view.document.allows) {
      if (codes.includes(code)) continue
      const at = { chunk, ...codeSpan }
      const { sentence, fixes } = suggestions(code, codes, at)
      yield {
        at,
        message: `No check is called \`${code}\`, so this line accepts nothing.${sentence}${sentence === '' ? ' Take the code from the finding it is meant for.' : ''}`,
        ...(fixes.length > 0 ? { fixes } : {}),
      }
    }
  },
}
