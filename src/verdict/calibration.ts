import type { Calibration } from "./calibrate.ts";

/**
 * Shifts of log odds, fitted by `npm run study -- --fit` on 5000 simulated power-ups (seed 7001). From simulated boards in
 * a mix that is common practice, no source: weak, until a shop's own confirmed jobs replace them.
 */
export const CALIBRATION: Calibration = {
  "cannot-tell/open-input/open-input": 2.21,
  "cannot-tell/open-input/standby-only": -2.01,
  "cannot-tell/retrying/core-alive": -2.09,
  "cannot-tell/retrying/normal": -1.41,
  "cannot-tell/retrying/open-input": -1.61,
  "cannot-tell/retrying/partly-up": -3.66,
  "cannot-tell/retrying/retrying": 4.74,
  "cannot-tell/retrying/standby-only": -3.8,
  "cannot-tell/standby-only/open-input": -2.51,
  "cannot-tell/standby-only/standby-only": 1.85,
  "core-alive": 1.07,
  "core-alive/core-alive/creeping": -0.5,
  "core-alive/core-alive/normal": -0.48,
  "core-alive/core-alive/partly-up": -1.57,
  creeping: 2.41,
  "creeping/creeping/overload": -2.3,
  "dead-short": 2.49,
  "dead-short/dead-short/overload": -2.17,
  normal: 2.85,
  "normal/normal/core-alive": -0.65,
  "normal/normal/creeping": -1.09,
  "open-input": 2.84,
  "open-input/open-input/standby-only": -2.58,
  overload: 4.03,
  "overload/overload/creeping": -2.16,
  "overload/overload/dead-short": -2.54,
  "partly-up": 0.1,
  "partly-up/partly-up/creeping": -1.64,
  "partly-up/partly-up/retrying": 0.4,
  retrying: 2.66,
  "retrying/retrying/overload": -1.91,
  "standby-only": 2.7,
  "standby-only/standby-only/open-input": -2.18,
  "standby-only/standby-only/retrying": -1.96,
};
