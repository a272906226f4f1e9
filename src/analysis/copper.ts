/** Resistivity of annealed copper at 20 °C, Ω·mm²/m, and its temperature coefficient, 1/K (IEC 60028). */
const RESISTIVITY = 0.017241;
const PER_KELVIN = 0.00393;
const REFERENCE_CELSIUS = 20;

/** Cross-section of an AWG size, mm²: the diameter is 0.127 mm · 92^((36 − n)/39) (ASTM B258). */
export function awgSquareMillimetres(gauge: number): number {
  const diameter = 0.127 * 92 ** ((36 - gauge) / 39);
  return (Math.PI / 4) * diameter * diameter;
}

/** Resistance of a copper wire, ohms. `metres` is the length of wire: out and back for a pair of leads. */
export function copperOhms(wire: { metres: number; squareMillimetres: number; celsius?: number }): number {
  const { metres, squareMillimetres, celsius = REFERENCE_CELSIUS } = wire;
  return ((RESISTIVITY * metres) / squareMillimetres) * copperShare(celsius);
}

/** Resistance of a copper part at a temperature, as a share of that at 20 °C (IEC 60028). */
export const copperShare = (celsius: number): number => 1 + PER_KELVIN * (celsius - REFERENCE_CELSIUS);
