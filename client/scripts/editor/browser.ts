/** The browser that shows the served editor, and the address under which a folder is opened in it. */
import { type BrowserServer, chromium } from 'playwright-core'

/** Where the launcher and the screen tests find the server and the browser that the run has started. */
export const urlVariable = 'DETENT_EDITOR_URL'
export const browserVariable = 'DETENT_EDITOR_BROWSER'
/** Where the packed extension is, for tests that need a server of their own. */
export const packageVariable = 'DETENT_EDITOR_PACKAGE'

const flags = [
  '--no-sandbox',
  '--disable-gpu',
  '--disable-quic',
  '--no-first-run',
  '--disable-background-networking',
  '--disable-component-update',
  '--disable-sync',
  '--disable-dev-shm-usage',
]

export function startBrowser(executablePath: string): Promise<BrowserServer> {
  return chromium.launchServer({ executablePath, args: flags, headless: true })
}

/** The editor's own address of a file or folder on the server. */
export function remoteUri(serverUrl: string, path: string): string {
  return `vscode-remote://${new URL(serverUrl).host}${path}`
}

/** The page that opens `folder`, with further start parameters as key and value. */
export function pageAddress(
  serverUrl: string,
  folder: string,
  parameters: readonly (readonly [string, string])[],
): string {
  const payload = [...parameters, ['skipWelcome', 'true'], ['skipReleaseNotes', 'true']]
  return `${serverUrl}/?folder=${encodeURIComponent(folder)}&payload=${encodeURIComponent(JSON.stringify(payload))}`
}
