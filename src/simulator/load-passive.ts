import type { BoardLoad } from "./board-load.ts";

const never = (): number => Number.POSITIVE_INFINITY;

/** An ohmic path to ground. */
export const resistorLoad = (ohms: number): BoardLoad => ({
  draw: (sum) => {
    sum.siemens += 1 / ohms;
  },
  nextChangeMs: never,
});

/** A diode path: reversed leads, a reversed protection diode. */
export const junctionLoad = (volts: number, ohms: number): BoardLoad => ({
  draw: (sum) => {
    sum.junctions.push({ volts, ohms });
  },
  nextChangeMs: never,
});

/** Controllers, LEDs, linear regulators: a constant current above a voltage. */
export const biasLoad = (amps: number, fromVolts: number): BoardLoad => ({
  draw: (sum, volts) => {
    if (volts >= fromVolts) sum.amps += amps;
  },
  nextChangeMs: never,
});
