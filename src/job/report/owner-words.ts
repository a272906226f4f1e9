import type { TripRule } from "../../../shared/plan.ts";
import type { RunPurpose } from "../../../shared/record/run-record.ts";

/** Why the power was cut for the board, for its owner: no instrument, no command and no figure they cannot use. */
export const TRIP_WORDS: Partial<Record<TripRule, string>> = {
  "dead-short": "an input is shorted",
  "partial-short": "an input conducts where a good board does not",
  junction: "an input conducts like a diode, for example because of reversed leads or a burnt part",
  "back-feed": "an input that was off got voltage through the board",
  limiting: "the board took all the current it was allowed, and did not start",
  "start-loop": "the board started again and again and never stayed on",
  collapse: "the voltage broke down under the board's load",
  "over-voltage": "a voltage rose above what the board may get",
  "over-power": "the board took more power than it should",
  charge: "the board took more charge than its capacitors can explain",
  energy: "the board took more energy at the start than it should",
  creeping: "the current kept rising by itself",
};

/** The purpose of a run, in the owner's words. */
export const PURPOSE_WORDS: Record<RunPurpose, string> = {
  powerup: "Power-up",
  sweep: "Power-up for measuring",
  soak: "Long run",
  margin: "Run at the ends of the supply voltage",
  inject: "Search for a short",
  leads: "Measurement of the leads",
  cycle: "Start, one of many",
};
