import { z } from "zod";
import { CaptureEntry, StoredEvent } from "./job.ts";

const Sha256 = z.string().regex(/^[0-9a-f]{64}$/);

/** The first entry of a job's archive: what the job is, and every other entry with its length and hash. */
export const ArchiveManifest = z.strictObject({
  format: z.literal("firstamp-job"),
  version: z.union([z.literal(1), z.literal(2)]),
  job: z.strictObject({ id: z.uuid(), createdAt: z.iso.datetime({ precision: 3 }) }),
  captures: z.array(CaptureEntry.extend({ state: z.enum(["closed", "recovered"]) })),
  attachments: z.array(
    z.strictObject({
      sha256: Sha256,
      bytes: z
        .number()
        .int()
        .min(0)
        .max(20 * 1024 * 1024),
      mediaType: z.string().max(100),
    }),
  ),
  files: z.array(z.strictObject({ name: z.string().max(200), bytes: z.number().int().min(0), sha256: Sha256 })),
});
export type ArchiveManifest = z.infer<typeof ArchiveManifest>;

/** A line of the archive's events; `stamp` is left out for events from before it was kept. */
export const ArchivedEvent = StoredEvent.omit({ origin: true }).extend({ stamp: z.string().max(100).exactOptional() });
