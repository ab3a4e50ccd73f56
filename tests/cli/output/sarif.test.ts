import { SarifBuilder, SarifResultBuilder, SarifRunBuilder } from 'node-sarif-builder'
import { describe, expect, it } from 'vitest'
import type { ReportedFinding } from '../../../server/cli/check-results.ts'
import { checkSarif } from '../../../server/cli/output/sarif.ts'

const message = 'The name `SARIF_BUILDER_INVALID` is not known.'
const finding: ReportedFinding = {
  file: 'a.detent',
  line: 3,
  column: 5,
  endLine: 3,
  endColumn: 9,
  severity: 'error',
  code: 'unknown-name',
  message,
  page: '',
}

describe('SARIF', () => {
  it('tells whatever a message says', () => {
    const log = checkSarif({
      files: ['a.detent'],
      unread: [],
      findings: [finding],
      expectations: [],
      predictedTexts: new Map(),
      undecided: new Map(),
      lineTexts: new Map(),
    })
    expect(JSON.parse(log).runs[0].results[0].message.text).toBe(message)
  })

  it('is written by hand, since the library for it refuses a log for what a message says', () => {
    const run = new SarifRunBuilder().initSimple({ toolDriverName: 'detent', toolDriverVersion: '1' })
    run.addResult(new SarifResultBuilder().initSimple({ ruleId: 'unknown-name', level: 'error', messageText: message }))
    const log = new SarifBuilder()
    log.addRun(run)
    expect(() => log.buildSarifJsonString()).toThrow(/SARIF_BUILDER_INVALID/)
  })
})
