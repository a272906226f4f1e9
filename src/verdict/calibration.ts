import type { Calibration } from "./calibrate.ts";

/**
 * Shifts of log odds, fitted by `npm run study -- --fit` on 6000 simulated power-ups (seed 7001). From simulated boards in
 * a mix that is common practice, no source: weak, until a shop's own confirmed jobs replace them.
 */
export const CALIBRATION: Calibration = {
  "cannot-tell/open-input/open-input": 2.36,
  "cannot-tell/open-input/standby-only": -2.12,
  "cannot-tell/retrying/core-alive": -1.65,
  "cannot-tell/retrying/creeping": -1.01,
  "cannot-tell/retrying/normal": -3.03,
  "cannot-tell/retrying/open-input": -1.75,
  "cannot-tell/retrying/partly-up": -4.11,
  "cannot-tell/retrying/retrying": 0.59,
  "cannot-tell/retrying/standby-only": -3.98,
  "cannot-tell/standby-only/open-input": -2.59,
  "cannot-tell/standby-only/standby-only": 1.39,
  "core-alive": 3.61,
  "core-alive/core-alive/creeping": -0.26,
  "core-alive/core-alive/partly-up": -1.12,
  "core-alive/core-alive/retrying": -3.22,
  creeping: 2.15,
  "creeping/creeping/overload": -2.37,
  "dead-short": 2.59,
  "dead-short/dead-short/overload": -1.75,
  normal: 4.04,
  "normal/normal/core-alive": -0.73,
  "normal/normal/creeping": -0.44,
  "normal/normal/retrying": -3.66,
  "open-input": 3.07,
  "open-input/open-input/standby-only": -2.74,
  overload: 2.81,
  "overload/overload/creeping": -2.08,
  "overload/overload/dead-short": -1.44,
  "partly-up": 2.31,
  "partly-up/partly-up/creeping": -1.43,
  "partly-up/partly-up/retrying": -1.85,
  retrying: 2.85,
  "retrying/retrying/overload": -2.06,
  "standby-only": 2.6,
  "standby-only/standby-only/open-input": -2.26,
  "standby-only/standby-only/retrying": -1.86,
};
