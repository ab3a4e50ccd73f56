import { describe, expect, it } from 'vitest'
import { checks } from '../../server/checks/registry.ts'
import { foundIn } from '../harness/check.ts'
import { loadFixture } from '../harness/fixture.ts'
import { pageFixture } from '../harness/page-example.ts'

/** What a reader sees on a check's page is run: on the bench of all pages it has the finding that the page is about. */
describe('the example on the page of', () => {
  it.each(checks.map(check => [check.code, check] as const))('%s has its finding', async (code, { severity, page }) => {
    const loaded = await loadFixture(pageFixture(page.example))
    const found = foundIn(loaded, severity === 'off' ? { [code]: 'warning' } : {})
    expect(found.map(({ finding }) => finding.code)).toContain(code)
  })

  it.each(checks.map(check => [check.code, check] as const))('%s is no placeholder', (_, { title, page }) => {
    expect([title, page.what, page.why, page.remedy, page.example].filter(text => text.includes('…'))).toEqual([])
  })
})
