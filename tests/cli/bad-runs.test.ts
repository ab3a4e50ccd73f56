import { mkdirSync, symlinkSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { temporaryFolder } from '../harness/process.ts'
import { seededNormal } from '../harness/random.ts'
import { benchText, detent } from './helpers.ts'

/** Bad input about runs, each kind through the commands as a person gives them: it has its message, at its place. */

const normal = seededNormal(7)
const rows = (count: number, separator = ',', mark = '.'): string =>
  Array.from({ length: count }, (_, t) =>
    [t, (50.6 + 0.2 * normal()).toFixed(2), (37.3 + 0.2 * normal()).toFixed(2)]
      .join(separator)
      .replaceAll('.', mark)
      .concat('\n'),
  ).join('')
const good = `t,package,hot\n${rows(900)}`

const usual = ['column time "t" s', 'column power "package" W', 'column die "hot" °C']
const columns = (...lines: string[]): string => lines.map(line => `    ${line}\n`).join('')
const run = (body: string, head = 'run evening of daily under work'): string =>
  `\n${head} {\n  air 20 °C\n  humidity 40 %\n${body}}\n`
const logged = (...lines: string[]): string => run(`  log "l.csv" {\n${columns(...lines)}  }\n`)

const utf16 = (text: string): Buffer => Buffer.from(text, 'utf16le')
const random = seededNormal(8)
const binary = Buffer.from(Uint8Array.from({ length: 100_000 }, () => Math.floor(97 * random())))

interface Case {
  readonly log?: string | Buffer | 'folder' | 'loop'
  readonly text?: string
  /** What is under the finding, and its message; none where nothing should be found. */
  readonly under?: string
  readonly message?: RegExp
  readonly severity?: string
  /** What `predict --runs` says of it, and `fit`. */
  readonly runs: RegExp
  readonly fit?: RegExp
}

const path = '"l.csv"'
const steady = /900 rows; under load from .* to 15 min/
const cases: Readonly<Record<string, Case>> = {
  'a log that is not there': {
    under: path,
    message: /^There is no such file\. .*relative to this file/,
    runs: /its log is not there/,
    fit: /its log is not there/,
  },
  'an empty log': {
    log: '',
    under: path,
    message: /^It cannot be read: it is empty/,
    runs: /it is empty/,
    fit: /it is empty/,
  },
  'a log of empty lines': { log: '\n \n\n', under: path, message: /it is empty/, runs: /it is empty/ },
  'a file that is no text': {
    log: binary,
    under: path,
    message: /^It cannot be read: it is no text/,
    runs: /it is no text/,
    fit: /it is no text/,
  },
  'a file of zeros': { log: Buffer.alloc(50_000), under: path, message: /it is no text/, runs: /it is no text/ },
  'a folder for a log': {
    log: 'folder',
    under: path,
    message: /^It cannot be read: it is a folder/,
    runs: /it is a folder/,
  },
  'a log that cannot be opened': {
    log: 'loop',
    under: path,
    message: /^It cannot be read: its links lead round in a circle/,
    runs: /cannot be read/,
  },
  'a header alone': {
    log: 't,package,hot\n',
    under: path,
    message: /^The log has a header and no row below it/,
    runs: /no row that can be taken/,
    fit: /no row that can be taken/,
  },
  'one line without an end': {
    log: 't,package,hot',
    under: path,
    message: /no row below it/,
    runs: /no row that can be taken/,
  },
  'one row': {
    log: 't,package,hot\n0,70,50\n',
    under: 'evening',
    message: /^Nothing to compare: its log is too short/,
    runs: /1 row; its log is too short/,
    // Nothing is refused: one row is one reading.
    fit: /fitted to 1 run/,
  },
  'rows without a header': {
    log: rows(900),
    under: path,
    message: /^No column named here is in the log, which has no line that looks like headers/,
    runs: /none of its columns/,
  },
  'a wrong column': {
    log: good,
    text: logged('column time "t" s', 'column power "packag" W', 'column die "hot" °C'),
    under: 'column power "packag" W',
    message: /^The log has no column "packag"; it has "t", "package", "hot"/,
    runs: /it has no column "packag"/,
  },
  'no column at all': {
    log: good,
    text: logged(),
    under: path,
    message: /^No column is named for the log, which has "t", "package", "hot"/,
    runs: /none of its columns/,
  },
  'two columns for one figure': {
    log: good,
    text: logged(...usual, 'column power "hot" W'),
    under: 'column power "hot" W',
    message: /^Another column already gives the power/,
    runs: /under load from/,
  },
  'a wrong delimiter': {
    log: good,
    text: logged(...usual, 'delimiter semicolon'),
    under: path,
    message: /has "t", "package", "hot" where comma separates the cells.* Check `delimiter`/,
    runs: /none of its columns/,
  },
  'a wrong decimal mark': {
    log: good,
    text: logged(...usual, 'decimal comma'),
    under: path,
    message:
      /^900 of 900 rows of the log were left out \(line 2: "5\d\.\d\d" under "package" is no number.*check `delimiter`, `decimal`/,
    runs: /no row that can be taken; 900 not read, the first at line 2/,
  },
  'decimal marks of both kinds': {
    log: `t;package;hot\n${rows(500, ';')}${rows(400, ';', ',')}`,
    under: path,
    severity: 'information',
    message: /^400 of 900 rows .*The means are made without them/,
    runs: /500 rows; 400 not read/,
  },
  'time that goes backwards': {
    log: `t,package,hot\n${rows(900).trimEnd().split('\n').reverse().join('\n')}\n`,
    under: path,
    message: /^899 of 900 rows of the log were left out \(line 3: the time goes back to 898/,
    runs: /899 not read/,
    fit: /fitted to 1 run/,
  },
  'only gaps': {
    log: `t,package\n${Array.from({ length: 900 }, (_, t) => `${t},`).join('\n')}\n`,
    text: logged(...usual.slice(0, 2)),
    under: 'column power "package" W',
    message: /the power has no value in any row/,
    runs: /has no value in any row/,
    fit: /has no value in any row/,
  },
  'a log that ends long before it settles': {
    log: `t,package,hot\n${Array.from({ length: 400 }, (_, t) => `${t},${50 + t / 4},${30 + t / 8}`).join('\n')}\n`,
    under: 'evening',
    severity: 'information',
    message:
      /^Known only to ± \d\.\d K: the die would settle at \d+ °C, above where the log ends\. \d+ min more would halve the ±\.$/,
    runs: /the die has \d+(\.\d)? K still to rise \(± \d\.\d K\)/,
    fit: /fitted to 1 run/,
  },
  'no time': { log: good, text: logged(...usual.slice(1)), runs: /1 s assumed between rows/ },
  'headers that come again': { log: `t,package,hot\n${rows(300)}t,package,hot\n${rows(300)}`, runs: /600 rows; 1 gap/ },
  'quoted separators': {
    log: `"t, s","package","hot"\n${rows(900).replace(/^(\d+),([\d.]+),/gm, '"$1","$2",')}`,
    text: logged('column time "t, s" s', ...usual.slice(1)),
    runs: steady,
  },
  'UTF-16 with its mark': { log: utf16(`\ufeff${good}`), runs: steady },
  'UTF-16 without one': { log: utf16(good), runs: steady },
  'the other UTF-16': { log: utf16(`\ufeff${good}`).swap16(), runs: steady },
  'carriage returns alone': { log: good.replaceAll('\n', '\r'), runs: steady },
  'an empty `measured`': {
    text: run('  measured { }\n'),
    under: 'measured',
    message: /^No figure here/,
    runs: /nothing to compare/,
    fit: /nothing was measured/,
  },
  'figures that cannot be': {
    text: run('  measured { die 400 °C }\n'),
    under: 'die 400 °C',
    message: /the die reads 400 °C, where -80 to 115 °C can be/,
    runs: /the die reads 400 °C/,
    fit: /the die reads 400 °C/,
  },
  'the machine at rest': {
    text: run('  measured { power 8 W; die 22 °C }\n', 'run evening of daily under idle'),
    runs: /power +8\.0 W +8\.0 W/,
    // At rest it tells of the power at rest.
    fit: /idle-power 8 /,
  },
  'the machine off': {
    text: run('  measured { power 8 W }\n', 'run evening of daily under off'),
    under: 'evening',
    severity: 'information',
    message: /^Nothing is predicted with the machine off: its cooler does not say `drive-when-off yes`/,
    runs: /drive-when-off yes/,
    fit: /drive-when-off yes/,
  },
  'scores where more and less are better': {
    text: run('  score 10 "points" higher\n') + run('  score 9 "points" lower\n', 'run later of daily under work'),
    under: 'lower',
    message: /^Scores contradict each other: lower is better for "points" here, higher in `evening`/,
    runs: /nothing to compare/,
  },
}

describe('bad input about runs', () => {
  it.each(Object.entries(cases))(
    '%s has its message',
    async (_, { log, text = logged(...usual), under, message, severity = 'warning', runs, fit }) => {
      const source = benchText() + text
      using folder = temporaryFolder({ 'a.detent': source })
      const place = join(folder.path, 'l.csv')
      if (log === 'folder') mkdirSync(place)
      else if (log === 'loop') symlinkSync('l.csv', place)
      else if (log !== undefined) await import('node:fs/promises').then(({ writeFile }) => writeFile(place, log))
      const { out, code } = await detent(folder.path, ['check', '--output', 'json'])
      expect(code).toBe(0)
      const { findings } = JSON.parse(out) as {
        findings: { code: string; line: number; column: number; endColumn: number; severity: string; message: string }[]
      }
      const found = findings.filter(one => one.code === 'run-log')
      expect(findings.filter(one => one.code !== 'run-log' && one.code !== 'prediction-off')).toEqual([])
      expect(found.map(one => source.split('\n')[one.line - 1]?.slice(one.column - 1, one.endColumn - 1))).toEqual(
        under === undefined ? [] : [under],
      )
      if (message !== undefined) {
        expect(found[0]?.message).toMatch(message)
        expect(found[0]?.severity).toBe(severity)
      }
      const flat = async (...args: string[]): Promise<string> =>
        (await detent(folder.path, [...args, 'a.detent'])).out.replace(/\s+/g, ' ')
      expect(await flat('predict', '--runs')).toMatch(new RegExp(runs.source.replaceAll(' +', ' ')))
      if (fit !== undefined) expect(await flat('fit', '--part', 'sample')).toMatch(fit)
      const report = await detent(folder.path, ['report', '--output', 'markdown', '--profile', 'daily'])
      expect(report.code).toBe(0)
      expect(report.out).toContain('Run evening of daily')
    },
  )

  it.each([
    [
      'a profile',
      'run evening of dayly under work',
      /No profile is called `dayly`.*Did you mean `daily`/,
      'there is no profile dayly',
    ],
    [
      'a load',
      'run evening of daily under wark',
      /No load is called `wark`.*Did you mean `work`/,
      'there is no load wark',
    ],
  ])('%s that is not there', async (_, head, message, words) => {
    using folder = temporaryFolder({ 'a.detent': benchText() + run('  measured { power 70 W }\n', head) })
    const { out, code } = await detent(folder.path, ['check'])
    expect(code).toBe(1)
    expect(out).toMatch(message)
    for (const args of [
      ['predict', '--runs'],
      ['fit', '--part', 'sample'],
    ]) {
      expect((await detent(folder.path, [...args, 'a.detent'])).out).toContain(words)
    }
  })

  it('a unit of another kind costs its line, and the log is not blamed', async () => {
    using folder = temporaryFolder({
      'a.detent': benchText() + logged('column time "t" s', 'column power "package" V'),
      'l.csv': good,
    })
    const { out } = await detent(folder.path, ['check'])
    expect(out).toContain('[unit-mismatch]')
    expect(out).not.toContain('[run-log]')
  })

  it('scores that cannot be compared are named, and too few for an interval', async () => {
    const other = '\nprofile other based-on daily { steps { 1 to 4 cores 44x } }\n'
    const score = (of: string, words: string): string => run(`  score ${words}\n`, `run r-${of} of ${of} under work`)
    const compared = async (a: string, b: string): Promise<string> => {
      using folder = temporaryFolder({ 'a.detent': benchText() + other + score('daily', a) + score('other', b) })
      return (await detent(folder.path, ['compare', 'daily', 'other'])).out.replace(/\s+/g, ' ')
    }
    expect(await compared('100 "points" higher', '10 "frames" higher')).toContain(
      'Scores under work are not compared, because they differ in kind: other in frames (higher is better), daily in points (higher is better).',
    )
    expect(await compared('100 "points" higher', '90 "points" lower')).toContain('differ in kind')
    expect(await compared('100 "points" higher', '90 "points" higher')).toContain('too few scores (1 and 1)')
  })

  it('few runs for a fit leave the constants mostly as stated, and none at all is said', async () => {
    using folder = temporaryFolder({
      'a.detent': benchText() + run('  measured { clock 4.6 GHz; power 52 W }\n'),
      'b.detent': benchText(),
    })
    const one = await detent(folder.path, ['fit', 'a.detent', '--part', 'sample'])
    // One figure of power tells of the power law together; the spread of each constant hardly changes.
    expect(one.out).toMatch(/^fit of part sample: \d+ constants fitted to 1 run$/m)
    expect(one.out.replace(/\s+/g, ' ')).toContain('mostly as stated')
    expect((await detent(folder.path, ['fit', 'b.detent', '--part', 'sample'])).out).toContain(
      'nothing is fitted: there is no run',
    )
  })
})
