/** The draw of a feed at this moment, as the sum of four shapes; the circuit solves for the voltage that fits. */
export interface LoadSum {
  /** Conductance to ground. */
  siemens: number;
  /** Constant power: the current grows as the voltage falls. */
  watts: number;
  /** Constant current. */
  amps: number;
  /** Diode paths. */
  junctions: { volts: number; ohms: number }[];
}

export const nothing = (): LoadSum => ({ siemens: 0, watts: 0, amps: 0, junctions: [] });

/** Below this, constant power and constant current fade to nothing, so that a flat board draws nothing. */
const fadeVolts = 1;

/** Amps drawn at `volts`, and their slope against the voltage. */
export function ampsOfLoad(sum: LoadSum, volts: number): { amps: number; slope: number } {
  let amps = sum.siemens * volts;
  let slope = sum.siemens;
  if (volts >= fadeVolts) {
    amps += sum.watts / volts + sum.amps;
    slope -= sum.watts / (volts * volts);
  } else if (volts > 0) {
    amps += (sum.watts / fadeVolts + sum.amps) * (volts / fadeVolts);
    slope += (sum.watts / fadeVolts + sum.amps) / fadeVolts;
  }
  for (const junction of sum.junctions) {
    if (volts <= junction.volts) continue;
    amps += (volts - junction.volts) / junction.ohms;
    slope += 1 / junction.ohms;
  }
  return { amps, slope };
}
