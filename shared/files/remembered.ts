import { z } from "zod";

/**
 * The settings that a technician makes once with `firstamp use`, as it is kept in `use.json` of the data directory. It says what lies on
 * the bench; what is measured, checked or waived is never remembered.
 */
export const Remembered = z.strictObject({
  version: z.literal(1),
  /** Absolute path of the bench file. */
  bench: z.string().min(1).exactOptional(),
  /** Absolute path of the board file. */
  board: z.string().min(1).exactOptional(),
  host: z.enum(["none", "attached"]).exactOptional(),
  fans: z.enum(["on", "off"]).exactOptional(),
  cooler: z.enum(["bare", "block", "cooler"]).exactOptional(),
  /** The whole id of the current job. */
  job: z.string().min(1).exactOptional(),
});
export type Remembered = z.infer<typeof Remembered>;
