import { z } from "zod";

const line = z.string().max(200);

/** A test done elsewhere, as it is filed: at a host, by a script, by a person. */
export const HostTest = z.strictObject({
  /** The name of the test: "host-boots", "memory", "load", or any other name. */
  name: z.string().trim().min(1).max(80),
  /** `done`: it ran, and whether it passed is for a person to say. */
  result: z.enum(["pass", "fail", "done"]),
  /** So many of so many went well. */
  passed: z.number().int().min(0).optional(),
  of: z.number().int().min(1).optional(),
  /** The time it ran, minutes. */
  minutes: z.number().min(0).max(100_000).optional(),
  /** The addresses at which memory failed. */
  addresses: z.array(line).max(1000).optional(),
  hottest: z.strictObject({ where: line, celsius: z.number().min(-50).max(300) }).optional(),
  text: z.string().max(20_000).nullable().default(null),
  /** Who did it; null: not stated. */
  by: line.nullable().default(null),
  /** When, by the clock of whoever did it; null: when it was filed. */
  doneAt: z.iso.datetime().nullable().default(null),
});
export type HostTest = z.infer<typeof HostTest>;

/** The file that a script writes: one test, or several. */
export const HostTestFile = z.union([
  HostTest,
  z.array(HostTest).min(1).max(1000),
  z.strictObject({ tests: z.array(HostTest).min(1).max(1000) }),
]);
export type HostTestFile = z.infer<typeof HostTestFile>;
