import type { z } from "zod";

/** A record schema that takes so many entries and no more: a document is bounded before anything is made of it. */
export const atMost = <S extends z.ZodType<Record<string, unknown>>>(most: number, schema: S): S =>
  schema.refine((entries) => Object.keys(entries).length <= most, { message: `should have at most ${most} entries` });
