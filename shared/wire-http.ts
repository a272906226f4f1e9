import { z } from "zod";
import { PciAddress } from "./record/host-look.ts";
import { JobEvent, JobStage } from "./record/job.ts";

/** The bodies that are posted to the daemon, and what may stand in its paths. */
export const SessionBody = z.strictObject({ code: z.string().max(128) });
export const CodeBody = z.strictObject({ role: z.enum(["viewer", "operator"]) });

export const SessionPath = z.strictObject({ id: z.string().regex(/^[A-Za-z0-9_-]{22}$/) });

const id = z.string().regex(/^[A-Za-z0-9-]{1,64}$/);
export const JobPath = z.strictObject({ id });
/** An attachment is named by the SHA-256 of its bytes. */
export const AttachmentPath = z.strictObject({ id, hash: z.string().regex(/^[0-9a-f]{64}$/) });
export const PhotoPath = z.strictObject({ index: z.string().regex(/^\d{1,2}$/) });
const share = z.number().min(0).max(1);
/** A point marked on a photograph of the board; null takes the mark away. */
export const MarkBody = z.strictObject({
  point: z.string().min(1).max(80),
  at: z.strictObject({ x: share, y: share }).nullable(),
});
export const JobRunPath = z.strictObject({ id, run: z.uuid() });

/** A job is opened for the board of the daemon; the title is the person's. */
export const NewJobBody = z.strictObject({ title: z.string().trim().max(200).nullable() });

const WRITTEN: ReadonlySet<JobEvent["kind"]> = new Set([
  "intake",
  "note",
  "cold-readings",
  "repair",
  "result",
  "test",
  "stage",
  "answer",
  "correction",
]);

/** The entries that a page may file: the words of a person. The bench files its own. The same id twice is filed once. */
export const FileBody = z.strictObject({
  id: z.uuid(),
  event: JobEvent.refine((event) => WRITTEN.has(event.kind), { message: "cannot be filed by a person" }).refine(
    (event) => event.kind !== "cold-readings" || event.by === "hand",
    { message: "claims to be read from a meter" },
  ),
});

/**
 * The fields that go with the bytes of a file, in the query. Of a host look also: the port the board is in, whether a known good card was in it, and how
 * many seconds the host's clock is ahead.
 */
export const AttachQuery = z.strictObject({
  name: z.string().min(1).max(200),
  caption: z.string().trim().max(200).optional(),
  port: PciAddress.optional(),
  control: z.literal("yes").optional(),
  clockAhead: z.coerce
    .number()
    .min(-10 * 365 * 86_400)
    .max(10 * 365 * 86_400)
    .optional(),
});
export type AttachQuery = z.infer<typeof AttachQuery>;

/** Which jobs are looked for; what is left out is not asked. */
export const FindQuery = z.strictObject({
  words: z.string().trim().max(200).optional(),
  stage: JobStage.optional(),
  result: z.enum(["passed", "failed", "returned"]).optional(),
  state: z.enum(["open", "done"]).optional(),
});
export type FindQuery = z.infer<typeof FindQuery>;

export const CompareQuery = z.strictObject({ a: id, b: id });

export const JobCapturePath = z.strictObject({ id, capture: z.uuid() });

const ms = z.coerce.number().min(0).max(1e12);
/** A window of a capture, milliseconds of its run, and how many points a feed at most. */
export const PointsQuery = z
  .strictObject({
    from: ms.optional(),
    to: ms.optional(),
    most: z.coerce.number().int().min(1).max(4000).default(1000),
  })
  .refine(({ from, to }) => from === undefined || to === undefined || from <= to);
