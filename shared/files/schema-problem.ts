import { z } from "zod";

/** The refusal of a schema, in one line of at most 300 characters: each problem with the path of its field. */
export const schemaProblem = (error: z.ZodError): string =>
  z
    .prettifyError(error)
    .replace(/\s*\n\s*/g, " ")
    .slice(0, 300);
