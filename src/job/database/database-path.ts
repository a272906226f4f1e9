import { existsSync } from "node:fs";
import { join } from "node:path";

/** The file of the record in the data directory `dir`. */
export const databasePath = (dir: string): string => join(dir, "firstamp.db");

/** Whether there is a record in `dir` at all. */
export const hasJobStore = (dir: string): boolean => existsSync(databasePath(dir));
