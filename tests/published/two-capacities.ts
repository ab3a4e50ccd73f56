/** Two capacities in a row that are warmed from one end, solved outside this project. */

/**
 * 20 and 400 J/K, 0.1 and 0.15 K/W, 150 W switched on: after so many seconds so many kelvins, at the end that is warmed
 * and at the other. The analytic solution by eigenvalues in 30-digit arithmetic, with time constants of 1.9 s and 63 s.
 */
export const twoCapacities: readonly [afterS: number, warmedK: number, otherK: number][] = [
  [0.5, 3.31970566606169, 0.021453798430801],
  [1, 5.91415985039168, 0.0788348847423001],
  [2, 9.55797565095453, 0.268861583599155],
  [5, 14.3896806238346, 1.11860706662809],
  [10, 16.9823225005275, 2.70454837585984],
  [30, 22.6071720826173, 8.0792263963341],
  [60, 28.2425349226296, 13.5359653121353],
  [120, 33.9229746677569, 19.0363542946568],
  [300, 37.2936465111289, 22.3001872200712],
  [600, 37.498222696963, 22.498279031469],
]
