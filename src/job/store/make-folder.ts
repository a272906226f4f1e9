import { existsSync, mkdirSync } from "node:fs";
import { dirname } from "node:path";

/**
 * Makes a folder for this user alone, with the folders above it. Not the recursive mode of `mkdir`, which never returns where
 * the system says "not there" to a folder whose parent is (seen under /proc on Node 20). Throws the system's error.
 */
export function makeFolder(path: string): void {
  if (existsSync(path)) return;
  makeFolder(dirname(path));
  try {
    mkdirSync(path, { mode: 0o700 });
  } catch (error) {
    // Another process may have made it in between.
    if (!existsSync(path)) throw error;
  }
}
