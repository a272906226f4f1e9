import { z } from "zod";

/** What is posted to the daemon, and what may stand in its paths. */
export const SessionBody = z.strictObject({ code: z.string().max(128) });
export const CodeBody = z.strictObject({ role: z.enum(["viewer", "operator"]) });
export const CutBody = z.strictObject({ id: z.string().max(64) });

const id = z.string().regex(/^[A-Za-z0-9-]{1,64}$/);
export const JobPath = z.strictObject({ id });
/** An attachment is named by the SHA-256 of its bytes. */
export const AttachmentPath = z.strictObject({ id, hash: z.string().regex(/^[0-9a-f]{64}$/) });
