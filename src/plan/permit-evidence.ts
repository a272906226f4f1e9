import type { ColdReadings, RunConditions } from "../../shared/permit.ts";

/** What is known before anything is energised. */
export interface PermitEvidence {
  conditions: RunConditions;
  coldOhms: ColdReadings;
  /** Age of the cold readings, milliseconds; not known where left out. */
  coldAgeMs?: number;
  instruments: readonly { name: string; kind: "supply" | "meter"; identity: string; hasWatchdog: boolean }[];
  /** Each feed as the bench found it. */
  found: readonly { feed: string; output: "on" | "off" | "unknown"; cutByUs: boolean; volts: number | null }[];
}
