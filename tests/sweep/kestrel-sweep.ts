import { readFileSync } from "node:fs";
import { BoardFile } from "../../shared/files/board-file.ts";
import type { SweepPlan } from "../../shared/sweep.ts";
import { shippedFaultData } from "../../src/verdict/diagnosis/shipped-fault-data.ts";
import { sweepLimits } from "../../src/verdict/sweep/sweep-limits.ts";

export const kestrel = BoardFile.parse(
  JSON.parse(readFileSync(new URL("../../scenarios/boards/kestrel-k2.json", import.meta.url), "utf8")),
);

/** A sweep of the Kestrel K2 under power, by hand, with a meter whose ranges are not known. */
export const kestrelSweep: SweepPlan = {
  board: kestrel,
  cold: false,
  diode: false,
  fourWire: false,
  leadNullOhms: null,
  hasMeter: true,
  limitsOf: sweepLimits(kestrel, shippedFaultData()),
  rangesOf: () => [],
  channelOf: () => null,
};
