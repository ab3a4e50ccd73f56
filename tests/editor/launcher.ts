#!/usr/bin/env node
/**
 * Stands in for the desktop editor's program: takes its arguments (`--extensionDevelopmentPath=`,
 * `--extensionTestsPath=`, a folder), opens the served editor in a browser page with them, passes the extension host's
 * console on and ends with the suite's exit code. So `@vscode/test-electron` runs one suite in either editor.
 *
 * A suite in the page's worker, which has no Node, cannot write files: `--results=PATH` says where what it tells of its
 * results goes.
 */
import { writeFileSync } from 'node:fs'
import { chromium } from 'playwright-core'
import { browserVariable, pageAddress, remoteUri, urlVariable } from '../../client/scripts/editor/browser.ts'

/** A suite that has not ended by then never will. */
const suiteMs = 180_000

function given(name: string): string | undefined {
  const prefix = `--${name}=`
  return process.argv.find(argument => argument.startsWith(prefix))?.slice(prefix.length)
}

function option(name: string): string {
  const value = given(name)
  if (value === undefined) throw new Error(`The launcher needs --${name}=PATH`)
  return value
}

function needed(name: string): string {
  const value = process.env[name]
  if (value === undefined) throw new Error(`The launcher needs ${name}, which tests/editor/run.ts sets`)
  return value
}

const serverUrl = needed(urlVariable)
const folder = process.argv.slice(2).find(argument => !argument.startsWith('-'))
if (folder === undefined) throw new Error('The launcher needs a folder to open')

const browser = await chromium.connect(needed(browserVariable))
const context = await browser.newContext({ viewport: { width: 1280, height: 800 } })
const page = await context.newPage()

const exitCode = new Promise<number>(resolve => {
  const timer = setTimeout(() => {
    console.error(`The suite did not end within ${suiteMs / 1000} s`)
    resolve(1)
  }, suiteMs)
  const end = (code: number) => {
    clearTimeout(timer)
    resolve(code)
  }
  page.exposeFunction('codeAutomationExit', end).catch(() => end(1))
  page.once('crash', () => end(1))
})
const resultsPath = given('results')
/** What the editor logs about itself is of use only where the suite failed. */
const log: string[] = []
await page.exposeFunction('codeAutomationLog', (type: string, values: unknown[]) => {
  const text = values.map(String).join(' ')
  // The suite indents its lines; the editor's own start at the margin.
  if (text.startsWith('  ')) console.log(text)
  else if (resultsPath !== undefined && text.startsWith('results [')) {
    writeFileSync(resultsPath, text.slice('results '.length))
  } else log.push(`${type}: ${text}`)
})
await page.goto(
  pageAddress(serverUrl, folder, [
    ['extensionDevelopmentPath', remoteUri(serverUrl, option('extensionDevelopmentPath'))],
    ['extensionTestsPath', remoteUri(serverUrl, option('extensionTestsPath'))],
  ]),
)
const code = await exitCode
if (code !== 0) console.error(log.join('\n'))
await context.close()
await browser.close()
process.exit(code)
