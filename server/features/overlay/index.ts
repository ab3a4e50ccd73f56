/** Statements that overlay a bench for one call and are written nowhere. */
export { layOver, type Overlaid } from './apply.ts'
export { type Overlay, OverlayTrouble, readOverlay } from './read.ts'
