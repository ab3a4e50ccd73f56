/** Statements that overlay a bench for one call and are written nowhere. */
export { layOver } from './apply.ts'
export { isOverlaid, overlayName, shownPlace } from './places.ts'
export { type Overlay, OverlayTrouble, type ReadExpectation, readExpectation, readOverlay } from './read.ts'
