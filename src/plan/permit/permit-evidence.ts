import type { FiledColdReadings } from "../../../shared/cold-evidence.ts";
import type { ColdReadings, RunConditions } from "../../../shared/permit.ts";

/** The evidence before anything is energised. */
export interface PermitEvidence {
  conditions: RunConditions;
  /** The age of each of the person's statements, milliseconds; not known where left out. */
  statedAgeMs?: Partial<Record<keyof RunConditions, number>>;
  coldOhms: ColdReadings;
  /** Points of `coldOhms` that were read with four wires, or as volts at a known current. */
  coldFourWire?: readonly string[];
  /** Age of `coldOhms`, milliseconds; not known where left out. */
  coldAgeMs?: number;
  /** The earlier cold readings of the job; `coldOhms` come before them, point by point. */
  coldFiled?: FiledColdReadings;
  instruments: readonly { name: string; kind: "supply" | "meter"; identity: string; hasWatchdog: boolean }[];
  /** Each feed as the bench found it. */
  found: readonly { feed: string; output: "on" | "off" | "unknown"; cutByUs: boolean; volts: number | null }[];
}
