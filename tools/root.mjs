import { dirname } from "node:path";
import { fileURLToPath } from "node:url";

/** The checkout these tools belong to. */
export const root = dirname(dirname(fileURLToPath(import.meta.url)));
