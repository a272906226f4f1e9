import type { JobTables } from "./job-tables.ts";

/** The columns of `draw` that hold numbers. */
export const DRAW_FIGURES = [
  "plateau_amps",
  "plateau_u",
  "peak_amps",
  "charge_coulombs",
  "input_farads",
  "short_ohms",
  "period_ms",
] as const;

type BenchTable = Exclude<keyof JobTables, "capture_file" | "chunk">;

/** The tables of a bench's record with their columns. */
export const TABLE_COLUMNS: { readonly [Table in BenchTable]: readonly (keyof JobTables[Table] & string)[] } = {
  job: ["id", "created_at"],
  job_event: ["id", "job", "stamp", "recorded_at", "kind", "body"],
  job_fact: ["job", "field", "value", "said", "event", "original", "stamp"],
  job_last: ["job", "field", "value", "stamp"],
  draw: ["run", "job", "capture", "board", "class", ...DRAW_FIGURES],
  event_words: ["event", "job", "words"],
  capture: ["id", "job", "run"],
  capture_end: ["capture", "state"],
  attachment: ["sha256", "bytes", "media_type"],
  origin: ["id", "since"],
  log: ["origin", "no", "event"],
  exchange: ["origin", "known"],
  sent: ["file"],
};
