import builder from 'junit-report-builder'
import { describe, expect, it } from 'vitest'
import type { Report, ReportedExpectation } from '../../../server/cli/check-results.ts'
import { checkJUnit } from '../../../server/cli/output/junit.ts'

const expectation = (over: Partial<ReportedExpectation>): ReportedExpectation => ({
  file: 'a.detent',
  line: 7,
  profile: 'daily',
  text: 'work holds >= 5.6 GHz',
  predicted: 5.6000000000000005,
  unit: 'GHz',
  holds: false,
  ...over,
})

function report(expectations: readonly ReportedExpectation[], why = ''): Report {
  return {
    files: ['a.detent'],
    unread: [],
    findings: [],
    expectations,
    predictedTexts: new Map(expectations.map(one => [one, '5.6 GHz'])),
    undecided: new Map(expectations.map(one => [one, why])),
    lineTexts: new Map(),
  }
}

describe('JUnit', () => {
  it('writes a figure as a person would, not as binary arithmetic left it', () => {
    const xml = checkJUnit(report([expectation({})]))
    expect(xml).toContain('<failure message="predicted 5.6 GHz" type="expect-failed"/>')
    expect(xml).not.toContain('5.6000000000000005')
  })

  it('says why a case is skipped and on which line it stands', () => {
    const xml = checkJUnit(report([expectation({ holds: null })], 'the room it names is not known'))
    expect(xml).toMatch(/<testcase classname="daily" name="work holds [^"]*" file="a.detent" line="7">/)
    expect(xml).toContain('<skipped message="the room it names is not known"/>')
  })

  it('holds no character that XML has no place for', () => {
    const xml = checkJUnit(report([expectation({ holds: null })], 'a\u0001b\ud800c\ufffe < & " d'))
    for (const none of ['\u0001', '\ud800', '\ufffe']) expect(xml).not.toContain(none)
    expect(xml).toMatch(/message="abc &lt; &amp; &quot; d"/)
  })

  it('is laid out by hand, since the library for it leaves out why a case was skipped', () => {
    const made = builder.newBuilder()
    const suite = made.testSuite().name('a.detent')
    // Its type takes no reason either; what is given is lost.
    const skip = suite.testCase().name('x') as unknown as { skipped: (reason: string) => void; line?: unknown }
    skip.skipped('the room it names is not known')
    expect(made.build()).toContain('<skipped/>')
    expect(made.build()).not.toContain('not known')
    expect(skip.line).toBeUndefined()
  })
})
