import type { BoardLoad } from "./board-load.ts";

const never = (): number => Number.POSITIVE_INFINITY;

/** An ohmic path to ground. */
export const resistorLoad = (ohms: number): BoardLoad => ({
  draw: (sum) => {
    sum.siemens += 1 / ohms;
  },
  nextChangeMs: never,
});

/** A shorted part that burns open once it has taken its energy, and stays so. */
export function fusingShortLoad(short: { ohms: number; joules: number; openOhms: number }): BoardLoad {
  let taken = 0;
  let lastMs: number | undefined;
  return {
    draw: (sum, volts, atMs) => {
      if (taken < short.joules) taken += (volts ** 2 / short.ohms) * ((atMs - (lastMs ?? atMs)) / 1000);
      lastMs = atMs;
      sum.siemens += 1 / (taken < short.joules ? short.ohms : short.openOhms);
    },
    nextChangeMs: never,
  };
}

/** A part that gives way some time after its feed came up, and stays a short. */
export function lateShortLoad(short: { ohms: number; afterMs: number; fromVolts: number }): BoardLoad {
  let shortsAtMs: number | undefined;
  return {
    draw: (sum, volts, atMs) => {
      if (volts >= short.fromVolts) shortsAtMs ??= atMs + short.afterMs;
      if (shortsAtMs !== undefined && atMs >= shortsAtMs) sum.siemens += 1 / short.ohms;
    },
    nextChangeMs: (atMs) => (shortsAtMs !== undefined && atMs < shortsAtMs ? shortsAtMs : Number.POSITIVE_INFINITY),
  };
}

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
