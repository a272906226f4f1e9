/** A cold reading as it was filed with the job. */
export interface FiledCold {
  ohms: number | "open";
  by: "hand" | "meter";
  /** Read with four wires, or as volts at a known current. */
  fourWire?: boolean;
  ageMs: number;
  /** Why it no longer says that the board may be powered; null while it does. What was bad stays bad. */
  expired: string | null;
}

/** By point, "aux", or pair, "aux:core", as it was filed last. */
export type FiledColdReadings = Readonly<Record<string, FiledCold>>;
