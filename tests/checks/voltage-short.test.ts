import { describe, expect, it } from 'vitest'
import { fixed } from '../harness/check.ts'
import { demo, edited, findingsOf, messageOf, placesOf } from './demo.ts'

const code = 'voltage-short'

describe('voltage-short', () => {
  it('names the drop, the need and the setting that would do', async () => {
    const found = await findingsOf(code, demo(code))
    expect(found.map(({ under }) => under)).toEqual(['core needs + 10 mV'])
    const { message, load, room, profile, severity } = found[0]?.finding ?? { message: '' }
    // By hand: 50x needs 1.010 + 10/13 · 0.280 = 1.2254 V; set 1.2354 V, on the grid 1.235 V. Behind 0.4 mΩ with
    // 8 · 1.6 nF · 5 GHz = 64 A/V and 5.16 W/V³ of leakage at 51.5 °C: V + 0.0004 (64 V + 5.16 V²) = 1.235 at 1.2013 V.
    expect(message).toContain('The die gets 1.201 V of the 1.235 V set')
    expect(message).toContain('needs 1.226 V')
    // Said upwards: whoever enters the figure is not to be short of it.
    expect(message).toContain('the load line takes 34 mV')
    expect(message).toContain('`core needs + 35 mV` would do')
    expect({ load, room, profile, severity }).toEqual({
      load: 'burn',
      room: 'shed',
      profile: 'daily',
      severity: 'error',
    })
  })

  it('lets what is just enough pass, and not one step of the grid less', async () => {
    expect(await placesOf(code, edited(demo(code), ['+ 10 mV', '+ 35 mV']))).toEqual([])
    expect(await placesOf(code, edited(demo(code), ['+ 10 mV', '+ 30 mV']))).toHaveLength(1)
  })

  it('lets the measured voltage itself pass where no load line and no grid take any', async () => {
    const text = edited(
      demo(code),
      ['  load-line 0.4 mΩ\n', ''],
      ['  core-voltage-step 5 mV\n', ''],
      ['needs + 10 mV', 'needs'],
    )
    expect(await placesOf(code, text)).toEqual([])
  })

  it('is fixed at `core`, on the grid', async () => {
    // By hand as above: 1.2254 V at the die takes 1.0256 · 1.2254 + 0.00207 · 1.2254² = 1.2599 V, on the grid 1.260 V.
    expect(await fixed(code, demo(code))).toContain('core needs + 35 mV')
    expect(await fixed(code, edited(demo(code), ['core needs + 10 mV', 'core fixed 1.235 V']))).toContain(
      'core fixed 1.260 V',
    )
  })

  it('is fixed where no `core` stands, by stating it', async () => {
    const text = edited(demo(code), ['  voltage {\n    core needs + 10 mV\n  }\n', ''])
    expect(await placesOf(code, text)).toEqual(['1 to 8 cores 50x'])
    expect(await fixed(code, text)).toContain('  voltage {\n    core needs + 35 mV\n  }\n}')
  })

  it('is fixed at the `set` row that decides', async () => {
    const text = edited(demo(code), ['core needs + 10 mV', 'set 50x 1.235 V'])
    expect(await placesOf(code, text)).toEqual(['set 50x 1.235 V'])
    expect(await fixed(code, text)).toContain('set 50x 1.260 V')
  })

  it('adds what warmth and vector loads need', async () => {
    const clean = edited(demo(code), ['+ 10 mV', '+ 35 mV'])
    const warm = edited(clean, ['  switching', '  needs-at 40 °C\n  needs-slope 1 mV/K\n  switching'])
    // 51.5 °C is 11.5 K above 40 °C: at least 11 mV more.
    expect(await messageOf(code, warm)).toMatch(/needs 1\.23[789] V/)
    const vector = edited(
      clean,
      ['  switching', '  vector-needs 30 mV\n  switching'],
      ['1 to 8 }', '1 to 8; vector yes }'],
    )
    expect(await messageOf(code, vector)).toContain('needs 1.256 V')
  })

  // 53x on few cores would need 1.290 + 0.035 V for what 50x on many cores lacks; 50x alone needs 1.260 V, as by hand above.
  const faster = edited(
    demo(code),
    ['1 to 8 cores   50x', '1 to 2 cores   53x\n    3 to 8 cores   50x'],
    ['+ 10 mV', '+ 20 mV'],
    ['to 1.45 V', 'to 1.32 V'],
  )

  it('names the ratio that would come to too much, and offers a row for the one that is short', async () => {
    const message = await messageOf(code, faster)
    expect(message).toContain('`core needs + 35 mV`, which asks for 1.325 V at 53x, more than the 1.320 V')
    expect(message).toContain('for this one `set 50x 1.260 V` would do')
    const mended = await fixed(code, faster)
    expect(mended).toContain('    core needs + 20 mV\n    set 50x 1.260 V\n')
    expect(await placesOf(code, mended)).toEqual([])
    expect(await placesOf(code, mended.replace('1.260', '1.255'))).toHaveLength(1)
  })

  it('names the faster ratio also where a row is no way out', async () => {
    // Both 50x and 49x are short here, so one row does not do.
    const both = edited(faster, ['3 to 8 cores   50x', '3 to 7 cores   50x\n    8 cores        49x'])
    const message = await messageOf(code, both)
    expect(message).toContain('V at 53x, more than the 1.320 V')
    expect(message).not.toContain('`set')
    expect(message).toContain('lower the step that runs at 53x, or this one, instead')
  })

  it('speaks of little as of little', async () => {
    const exact = edited(
      demo(code),
      ['  load-line 0.4 mΩ\n', ''],
      ['  core-voltage-step 5 mV\n', ''],
      ['needs + 10 mV', 'needs - 1 mV'],
    )
    expect(await messageOf(code, exact)).toMatch(/^Voltage 1\.0 mV short.*too little for a meter to show/)
    expect(await messageOf(code, edited(exact, ['- 1 mV', '- 10 mV']))).toContain('silent errors and a rare crash')
    expect(await messageOf(code, edited(exact, ['- 1 mV', '- 30 mV']))).toContain(
      'enough for crashes and silent errors',
    )
  })

  it('offers no voltage beyond what the part allows', async () => {
    const text = edited(demo(code), ['to 1.45 V', 'to 1.24 V'])
    const [found] = await findingsOf(code, text)
    expect(found?.finding.fixes).toEqual([])
    expect(found?.finding.message).toContain('more than the 1.240 V that the part allows')
  })
})
