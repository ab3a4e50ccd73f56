/** Statements laid over a bench for one call, written nowhere. */
export { layOver, type Overlaid } from './apply.ts'
export { type Overlay, OverlayTrouble, readOverlay } from './read.ts'
