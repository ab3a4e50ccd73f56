import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { benchWith } from '../features/reach/bench.ts'
import { temporaryFolder } from '../harness/process.ts'
import { reachFaults } from './contract.ts'
import { detent } from './helpers.ts'

/** `detent reach`: its text, its JSON, its exit codes, and calls that it cannot use. */

interface Json {
  readonly now: { readonly predicted: number; readonly unit: string; readonly holds: boolean }
  readonly answers: readonly Record<string, unknown>[]
  readonly pairs: readonly Record<string, unknown>[]
}

const asked = 'sort holds >= 4.6 GHz'
const bench = benchWith({})

describe('detent reach', () => {
  it('says what would do, where it stands, and what comes of it', async () => {
    using folder = temporaryFolder({ 'a.detent': bench })
    const { out, err, code } = await detent(folder.path, ['reach', 'tuned', asked])
    expect({ err, code }).toEqual({ err: '', code: 0 })
    const line = bench.split('\n').findIndex(text => text.includes('3 to 4 cores')) + 1
    expect(out).toMatch(/^profile tuned {2}a\.detent:\d+\nDoes not hold: `sort holds >= 4\.6 GHz`, 4\.40 GHz now\.$/m)
    expect(out).toContain(`  steps 3 to 4 cores 44x → 46x\n      4.60 GHz then, asks 2; a.detent:${line}\n`)
    expect(out).toContain('Changes of the bench\n  load sort 4 cores → ')
    expect(out).toContain("Caution: more ratio, voltage, power or heat wears the part. The maker's limits\ncome before")
    expect(readFileSync(join(folder.path, 'a.detent'), 'utf8')).toBe(bench)
  })

  it('gives every key, with numbers as they are', async () => {
    using folder = temporaryFolder({ 'a.detent': bench })
    const { out, code } = await detent(folder.path, ['reach', 'tuned', asked, '--output', 'json', '.'])
    const json = JSON.parse(out) as Json
    expect(code).toBe(0)
    expect(reachFaults(json)).toEqual([])
    expect(json).toMatchObject({ version: 1, profile: 'tuned', expectation: asked, pairs: [] })
    expect(json.now.unit).toBe('GHz')
    expect(json.now.holds).toBe(false)
    expect(json.answers[0]).toMatchObject({ kind: 'step', file: 'a.detent', from: 44, to: 46, unit: 'x', bench: false })
  })

  it('takes a line with its `expect` too', async () => {
    using folder = temporaryFolder({ 'a.detent': bench })
    const [with_, without] = [`expect ${asked}`, asked].map(text => detent(folder.path, ['reach', 'tuned', text]))
    expect(await with_).toEqual(await without)
  })

  it('finds pairs where nothing alone does it', async () => {
    const text = benchWith({ limits: 'die 92 °C; burst-power 52 W' }).replace('cores 4;', 'cores 3 to 4;')
    using folder = temporaryFolder({ 'a.detent': text })
    const json = JSON.parse((await detent(folder.path, ['reach', 'tuned', asked, '--output', 'json'])).out) as Json
    expect(reachFaults(json)).toEqual([])
    expect(json).toMatchObject({ answers: [], looked: { cut: false } })
    expect(json.pairs.length).toBeGreaterThan(0)
    const { out, code } = await detent(folder.path, ['reach', 'tuned', asked])
    expect(code).toBe(0)
    expect(out).toContain('Nothing alone does it. The least that two settings together ask for is ')
  })

  it('ends with 1 where there is no answer, and says how far it looked', async () => {
    const text = benchWith({ step: '44x' }, 'mail voltage <= 1.2 V', 'sort holds <= 4.4 GHz')
    using folder = temporaryFolder({ 'a.detent': text })
    const { out, code } = await detent(folder.path, ['reach', 'tuned', 'sort holds >= 4.6 GHz'])
    expect(code).toBe(1)
    expect(out).toMatch(/Nothing alone does it, and of all\spairs of settings up to a sum of \d+ none does/)
  })

  it('says where it holds already, and ends with 0', async () => {
    using folder = temporaryFolder({ 'a.detent': bench })
    const { out, code } = await detent(folder.path, ['reach', 'tuned', 'sort holds >= 4.3 GHz'])
    expect(code).toBe(0)
    expect(out).toContain('Holds already: `sort holds >= 4.3 GHz`, 4.40 GHz now.\nNothing needs to change.\n')
  })

  it('lays statements and names over the profile asked about, and leads to them', async () => {
    const text = benchWith({ other: 'room attic {\n  air 20 °C to 45 °C\n  humidity 40 %\n}\n' })
    using folder = temporaryFolder({ 'a.detent': text })
    const call = ['reach', 'tuned', 'sort die <= 55 °C', '--with', 'room=attic', '--with', 'limits { die 90 °C }']
    const { out, code } = await detent(folder.path, call)
    expect(code).toBe(0)
    expect(out).toMatch(/^Overlay --with 1: room=attic\nOverlay --with 2: limits \{ die 90 °C \}\nprofile tuned/)
    expect(out).toContain('room attic, warm end of air 45 °C → ')
    const json = JSON.parse((await detent(folder.path, [...call, '--output', 'json'])).out) as Json
    expect(reachFaults(json)).toEqual([])
    const held = await detent(folder.path, ['reach', 'tuned', 'sort die <= 55 °C'])
    expect(held.out).toContain('Holds already')
    const overlaid = ['reach', 'tuned', asked, '--with', 'steps { 3 to 4 cores 45x }', '--output', 'json']
    const step = (JSON.parse((await detent(folder.path, overlaid)).out) as Json).answers[0]
    expect(step).toMatchObject({ kind: 'step', file: '--with 1', line: 1, from: 45, to: 46 })
  })

  it.each([
    [['tuned', 'sort holds >= 4.6'], 'expectation, column 15: `4.6` has no unit'],
    [['tuned', 'sort holds 4.6 GHz'], 'expectation, column '],
    [['tuned', ''], 'expectation, column 1: None is given'],
    [['tuned', 'srot holds >= 4.6 GHz'], 'expectation, column 1: There is no load srot here; did you mean sort?'],
    [['tunde', asked], 'There is no profile tunde here; did you mean tuned?'],
    [['tuned', 'idle holds >= 1 GHz'], '`idle holds >= 1 GHz` cannot be judged: '],
    [['tuned', `${asked}\nvector -1x`], 'expectation, column '],
    [['tuned', asked, '--with', 'limits { die 95 }'], '--with 1, column 14: `95` has no unit'],
    [['bare', asked], 'Profile bare is not predicted: '],
    [
      ['tuned', 'sort holds >= 5.2 GHz'],
      'Beyond the part: `sort holds >= 5.2 GHz` cannot be reached; part p9 goes up to 50x: 5.00 GHz.',
    ],
    [['tuned', 'sort holds >= 5.2 GHz for 30 min'], 'Beyond the part: '],
    [['tuned', 'sort holds <= 0.1 GHz'], 'Beyond the part: '],
    [
      ['tuned', 'sort voltage >= 2 V'],
      'Beyond the part: `sort voltage >= 2 V` cannot be reached; part p9 allows up to ',
    ],
    [['tuned', 'sort power <= 2 W'], 'cannot be reached; part p9 takes 8.00 W before any core works.'],
    [['tuned', 'idle power <= 1 W'], 'cannot be reached; part p9 takes 6.00 W at `idle`, whatever is set.'],
  ])('is refused in one line, exit 2: %j', async (args, message) => {
    using folder = temporaryFolder({ 'a.detent': `${bench}\nprofile bare {\n  part p9\n}\n` })
    const { out, err, code } = await detent(folder.path, ['reach', ...args])
    expect({ out, code }).toEqual({ out: '', code: 2 })
    expect(err).toMatch(/^detent: .*\n$/)
    expect(err).toContain(message)
  })
})
