/** Temperature coefficient of annealed copper's resistance, 1/K, and the temperature it is stated for (IEC 60028). */
const PER_KELVIN = 0.00393;
const REFERENCE_CELSIUS = 20;

/** Resistance of a copper part at a temperature, as a share of that at 20 °C (IEC 60028). */
export const copperShare = (celsius: number): number => 1 + PER_KELVIN * (celsius - REFERENCE_CELSIUS);
