/**
 * A sheet of readings and what a technician says of it. Every answer is common practice of the trade, no source. The sheets were
 * written from the readings alone, before the fault finder was asked.
 */
export interface PracticeSheet {
  /** What the technician sees, in words. */
  seen: string;
  readings: Record<string, unknown>;
  /** What may be named first, as "element kind"; several where the readings do not part them. Left out: only `never` counts. */
  first?: readonly string[];
  /** What must not be named first. */
  never?: readonly string[];
  /**
   * "open": nothing that energises is held back. "held": it must be. "either": common practice does not decide.
   */
  power: "open" | "held" | "either";
  /** Measurements of which one has to be among the first three proposed. */
  next?: readonly string[];
  /** Measurements that must not be proposed at all. */
  notNext?: readonly string[];
}

/** What only a host can answer. */
export const WANTS_HOST = [
  "host-look",
  "second-host",
  "load-test",
  "firmware-switch",
  "press-and-warm",
  "fans-run",
  "core-amps",
  "ref-clock-volts",
  "boots",
  "memory-test",
];
