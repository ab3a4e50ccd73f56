import MarkdownIt from 'markdown-it'
import { marked } from 'marked'
import { describe, expect, it } from 'vitest'
import { memoryLogs } from '../../server/bench/log/source.ts'
import { escapedHtml } from '../../server/features/html.ts'
import { cellText, code, escaped, fenced, prose, table } from '../../server/features/markdown.ts'
import {
  compareMarkdown,
  compareProfiles,
  createService,
  fitMarkdown,
  fitPart,
  makeReport,
  reportMarkdown,
  reportPage,
  runsOfSide,
  sheetFor,
  sheetHtml,
  sheetMarkdown,
} from '../../server/service.ts'
import { visible } from '../../server/wording/visible.ts'
import { benchText } from '../cli/helpers.ts'
import { memoryFiles } from '../harness/file-systems.ts'

/**
 * Text of a workspace in whatever is shown: no picture, link, HTML or command comes of it. What viewers make of Markdown is
 * asked of two of them: markdown-it as the editor's preview sets it up (links of bare addresses, HTML let through), and marked,
 * which its hovers are made with.
 */

/** Everything that has been tried, each in one line. */
const tries: readonly string[] = [
  '![x](https://evil.invalid/x.png)',
  '[x](command:workbench.action.quit)',
  '[x][y]',
  '<img src=x onerror=alert(1)>',
  '<script>alert(1)</script>',
  '</td></table><a href="javascript:alert(1)">x</a>',
  '<https://evil.invalid>',
  '<command:evil>',
  'https://evil.invalid/x',
  'see https://evil.invalid, and http://evil.invalid.',
  '(www.evil.invalid)',
  'a@evil.invalid mailto:a@evil.invalid',
  '//evil.invalid/x',
  'ftp://evil.invalid',
  '`code` ` <img src=x> `',
  '`` ` <img src=x> ``',
  '``` \u0060 <img src=x>',
  '~~~ <img src=x>',
  '&lt;img src=x&gt; &#60;img src=x&#62;',
  '\\<img src=x> \\\\[x](https://evil.invalid)',
  '| x | <img src=x> |',
  '**x** _x_ ~~x~~ # x',
  '$(command:evil) [[x]] {{x}}',
  '\u202egnp.exe\u202c \u2066x\u2069 \u200f',
  '\u001b[31mred\u001b]8;;https://evil.invalid\u0007x\u001b]8;;\u0007 \u009b2J \u007f',
]

const preview = new MarkdownIt({ html: true, linkify: true })

/** What would act in a page that was made of Markdown. */
function alive(markdown: string): readonly string[] {
  const pages = [preview.render(markdown), marked.parse(markdown, { gfm: true, async: false })]
  return pages.flatMap(page => page.match(/<(?:a|img|script|iframe|svg)\b[^>]*>|javascript:[^<]*"/gi) ?? [])
}

/** Written out here once more, so that a gap in the other shows. */
const acts = new RegExp(
  ['[\\0-\\x08\\v\\f\\x0e-\\x1f\\x7f-\\x9f]', '[\\u061c\\u200e\\u200f\\u2028-\\u202e\\u2066-\\u2069]'].join('|'),
)

describe('the one function', () => {
  it.each(tries)('lets nothing live of %j', text => {
    for (const shown of [
      escaped(text),
      prose(text),
      code(text),
      `# ${prose(text)}`,
      `- ${prose(text)}`,
      `**${prose(text)}**`,
    ]) {
      expect(alive(shown)).toEqual([])
      expect(shown).not.toMatch(acts)
    }
    const cells = table(['a', 'b'], [[cellText(text), 'second']])
    expect(alive(cells)).toEqual([])
    expect(preview.render(cells)).toContain('<td style="text-align:left">second</td>')
    const block = fenced(`${text}\n\`\`\`\n<img src=x>\n`, 'detent')
    expect(alive(block)).toEqual([])
    expect(preview.render(block).match(/<pre>/g)).toHaveLength(1)
    expect(escapedHtml(text)).not.toMatch(/[<>"']/)
  })

  it('would see what is alive', () => {
    expect(tries.filter(text => alive(text).length > 0).length).toBeGreaterThan(12)
  })

  it('keeps the text as it reads', () => {
    for (const text of tries.filter(one => !acts.test(one))) {
      const page = preview.render(escaped(text)).replace(/<\/?(?:p|code)>|\n$/g, '')
      const read = page
        .replaceAll('&lt;', '<')
        .replaceAll('&gt;', '>')
        .replaceAll('&quot;', '"')
        .replaceAll('&amp;', '&')
      expect(read.replaceAll("'", '`')).toBe(text.replaceAll("'", '`'))
    }
  })
})

describe('what acts on a terminal or turns directions', () => {
  it('is shown, and in JSON still is the text that it was', () => {
    expect(visible('\u001b[31m\u0007\u009b \u202e\u2066\u061c\u200f\r')).toBe(
      '\\u001b[31m\\u0007\\u009b \\u202e\\u2066\\u061c\\u200f\\u000d',
    )
    expect(visible('plain\ttext\r\nof ° – – lines\n')).toBe('plain\ttext\r\nof ° – – lines\n')
    const json = JSON.stringify({ text: tries.join('\n') })
    expect(JSON.parse(visible(json))).toEqual({ text: tries.join('\n') })
    expect(visible('tag \u{e0041}')).toBe('tag \\udb40\\udc41')
  })
})

const quoted = (text: string): string => `"${text.replaceAll('"', '""')}"`

/** A bench that has one of the texts wherever the language takes a text. */
function benchWith(text: string): string {
  const q = quoted(text)
  return `${benchText(`  note ${q}\n  source ${q}\n  allow unused-name ${q}\n  board desk\n  stand-in\n`).replace('  stand-in\n', '')}
board desk {
  note ${q}
  menu { steps ${q} ${q}; core-voltage ${q} ${q} }
}

profile other based-on daily { note ${q} }

run old of daily under work {
  note ${q}
  revision ${q}
  air 20 °C
  log "log.csv" { column power ${q} W; column die "no ${text.replaceAll('"', '""')}" °C }
  measured { clock 4.600 GHz; power 90 W; die 51.8 °C }
  score 100 ${q} higher better
  stopped after 10 min ${q}
}

run lost of daily under work {
  log ${q} { column power ${q} W }
}
`
}

describe('what is shown of a bench', () => {
  it.each(tries)('with %j wherever a text can stand', async text => {
    const uri = 'mem://x/a.detent'
    const source = benchWith(text)
    const header = /[",]/.test(text) ? quoted(text) : text
    const logs = memoryLogs({ 'mem://x/log.csv': `${header},other\n${'90,52\n'.repeat(40)}` })
    const older = async () => Promise.reject(new Error(`There is no revision ${text} here.`))
    const service = createService(memoryFiles({ [uri]: source }), { logs, revisions: older })
    await service.workspace.load([uri])
    await service.bench.loadLogs(uri, { revisions: 'look-up' })
    const { workspace, bench } = service
    const markdown: string[] = []
    const offsets = [...source.matchAll(/[a-z][a-z-]+|"/g)].map(found => found.index)
    for (const offset of offsets) markdown.push(service.features.hover(uri, offset)?.text ?? '')
    const hovers = markdown.filter(shown => shown !== '').length
    expect(hovers).toBeGreaterThan(40)
    const placed = { name: 'daily', label: 'daily', workspace, uri, commit: undefined }
    const [daily, other] = service.evaluations(uri)
    const { runs, notes } = await runsOfSide(placed, placed, async () => undefined)
    const sides = [
      { label: 'daily', file: 'a.detent', evaluation: daily!, expectations: service.expectations(daily!), runs },
      {
        label: `other@${text}`,
        file: 'a.detent',
        evaluation: other!,
        expectations: service.expectations(other!),
        runs: [],
      },
    ]
    markdown.push(compareMarkdown(compareProfiles(sides, [...notes, text]), 'all'))
    const sheet = sheetFor(workspace, uri, 'daily', { severities: {} })
    markdown.push(sheetMarkdown(sheet!))
    const fit = await fitPart(workspace, bench, uri, 'sample', {
      revisions: 'as-known',
      rest: async () => undefined,
      tell: () => undefined,
    })
    if (fit !== undefined) markdown.push(fitMarkdown(fit))
    const making = makeReport(service, { files: [{ uri, shown: `${text}.detent` }], profiles: [], baseline: 'daily' })
    let step = making.next()
    while (step.done !== true) step = making.next()
    markdown.push(reportMarkdown(step.value))
    for (const shown of markdown) {
      expect({ shown, alive: alive(shown) }).toEqual({ shown, alive: [] })
      expect(shown).not.toMatch(acts)
    }
    for (const page of [sheetHtml(sheet!), await reportPage('Bench report', step.value)]) {
      // Pictures and the script of a report are its own: they hold no element of anybody else's.
      expect(page.replaceAll('<svg class="detent-chart" ', '')).not.toMatch(
        /<(?:a|img|iframe|svg|image|foreignObject)\b/i,
      )
      expect(page.match(/<script/g) ?? []).toEqual(
        page.match(/<script>for \(const details of /g)?.map(() => '<script') ?? [],
      )
      expect(page).not.toMatch(acts)
    }
  })
})
