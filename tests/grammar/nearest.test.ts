import { describe, expect, it } from 'vitest'
import { didYouMean, nearest } from '../../grammar/nearest.ts'

describe('nearest', () => {
  it('puts the nearest first and leaves strangers out', () => {
    expect(nearest('vectr', ['vector', 'vectors', 'voltage'])).toEqual(['vector', 'vectors'])
    expect(nearest('zebra', ['vector', 'voltage'])).toEqual([])
  })

  it.each(['stpes', 'step', 'stepps', 'stebs', 'setps', 'STEPS'])('knows %s for a slip of steps', word => {
    expect(nearest(word, ['steps', 'voltage'])).toEqual(['steps'])
  })

  it.each(['', 'st', 'sitting'])('does not know %j for one', word => {
    expect(nearest(word, ['steps', 'kitten'])).toEqual([])
  })

  it('does not take one short word for another', () => {
    expect(nearest('a', ['x', 'y'])).toEqual([])
  })

  it('offers those alone that are as near as the nearest', () => {
    expect(didYouMean('roon', ['room', 'roof', 'rooms'])).toEqual(['roof', 'room'])
  })
})
