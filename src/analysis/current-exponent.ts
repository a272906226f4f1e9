/** One level of a supply stepped within its tolerance. */
export interface LevelAtVolts {
  volts: number;
  amps: number;
  /** Standard uncertainty of the level, amps. */
  standardU: number;
}

/**
 * Exponent b of the draw against the voltage, amps ∝ volts^−b: −1 for a resistor, 0 for a constant current, +1 for a converter
 * that holds its power; and its standard uncertainty. Weighted least squares of ln amps on ln volts (JCGM 100:2008, H.3 has the
 * method). Null for fewer than two different voltages or a level that is not above zero.
 */
export function currentExponentOf(levels: readonly LevelAtVolts[]): { exponent: number; standardU: number } | null {
  if (levels.some(({ volts, amps, standardU }) => !(volts > 0) || !(amps > 0) || !(standardU > 0))) return null;
  let [w, wx, wy, wxx, wxy] = [0, 0, 0, 0, 0];
  for (const { volts, amps, standardU } of levels) {
    const weight = (amps / standardU) ** 2;
    const [x, y] = [Math.log(volts), Math.log(amps)];
    w += weight;
    wx += weight * x;
    wy += weight * y;
    wxx += weight * x * x;
    wxy += weight * x * y;
  }
  const spread = wxx - (wx * wx) / w;
  if (!(spread > 1e-12 * wxx)) return null;
  return { exponent: -(wxy - (wx * wy) / w) / spread, standardU: 1 / Math.sqrt(spread) };
}
