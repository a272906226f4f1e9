import { z } from "zod";
import { BenchFile } from "./bench-file.ts";

/** The instrument or port at an address, as looking for instruments tells it; every text of an instrument is made visible before. */
export const FoundLink = z.strictObject({
  address: z.string(),
  /** The system's name for the port; may be empty. */
  words: z.string(),
  identity: z.string().nullable(),
  serialNumber: z.string().nullable(),
  kind: z.enum(["supply", "meter", "recorder"]).nullable(),
  driver: z.string().nullable(),
  /** The driver in one sentence. */
  describes: z.string().nullable(),
  /** Why this driver, a sentence a candidate. */
  why: z.array(z.string()),
  /** Why nothing, or nothing known, answered; null when all is well. */
  problem: z.string().nullable(),
});
export type FoundLink = z.infer<typeof FoundLink>;

/** A port of this machine at which an instrument may be; nothing was opened to find out. */
export const SetupPort = z.strictObject({ address: z.string(), words: z.string() });
export type SetupPort = z.infer<typeof SetupPort>;

export const SetupDriver = z.strictObject({
  name: z.string(),
  kind: z.enum(["supply", "meter", "recorder"]),
  describes: z.string(),
});

/** The state of the first set-up: `none` no bench is in use, `file` a bench file is, `rehearsal` a simulated bench is. */
export const SetupView = z.strictObject({
  bench: z.enum(["none", "file", "rehearsal"]),
  /** The bench file in use; null: none is. */
  file: z.string().nullable(),
  /** The path that a bench file would be written to if nothing else is said. */
  proposedFile: z.string(),
  ports: z.array(SetupPort),
  drivers: z.array(SetupDriver),
  /** Boards to rehearse on. */
  rehearsals: z.array(z.strictObject({ name: z.string(), title: z.string() })),
  /** The cold readings of the simulated board, to be typed in; empty outside a rehearsal. */
  coldOhms: z.record(z.string(), z.number()),
});
export type SetupView = z.infer<typeof SetupView>;

/** The finding of the check on an open lead for one instrument or feed; nothing was switched on for it. */
export const SetupFinding = z.strictObject({ name: z.string(), ok: z.boolean(), says: z.string() });
export type SetupFinding = z.infer<typeof SetupFinding>;

export const SetupLookBody = z.strictObject({ address: z.string().trim().min(1).max(300) });
export const SetupFileBody = z.strictObject({
  file: z.string().trim().min(1).max(1000),
  bench: BenchFile,
  /** True where a person was told that a bench file is there, and wants it replaced. */
  replace: z.boolean(),
});
export type SetupFileBody = z.infer<typeof SetupFileBody>;
export const SetupBenchBody = z.strictObject({ file: z.string().trim().min(1).max(1000) });
export const SetupRehearseBody = z.strictObject({ scenario: z.string().regex(/^[a-z0-9-]{1,40}$/) });
/** The point on which the simulated probe is put; null lifts it. */
export const SetupProbeBody = z.strictObject({ point: z.string().max(70).nullable() });
