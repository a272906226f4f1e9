import { chmodSync, closeSync, lstatSync, openSync, readdirSync, statSync } from "node:fs";
import { join } from "node:path";
import { BenchError, quoted } from "../../../shared/bench-error.ts";

const OTHERS = 0o077;
const ANYONE_WRITES = 0o002;
/** The names that a record has in its folder: one that has any of it, or nothing at all, is the record's own. */
const OURS = ["owner.lock", "firstamp.db"];

/**
 * Makes sure that a data directory and what is in it are this user's alone, whatever stood there before. Throws BenchError
 * "data-not-writable" with the command that mends it for another user's folder, for one that everybody may write to, and
 * for one that others may read and that holds other things too.
 */
export function mustBeOwnFolder(dir: string): void {
  // Elsewhere rights are not told by these bits.
  if (process.getuid === undefined) return;
  const { uid, mode } = statSync(dir);
  const refuse = (why: string, mends: string): never => {
    throw new BenchError(
      "data-not-writable",
      `Cannot use ${quoted(dir)} for the record: ${why}; correct this with "${mends}", or give a folder of your own with --data; nothing was touched`,
    );
  };
  if (uid !== process.getuid()) refuse("it belongs to another user", `chown -R "$(id -u)" ${quoted(dir)}`);
  if ((mode & ANYONE_WRITES) !== 0) refuse("every user of this machine may write to it", `chmod 700 ${quoted(dir)}`);
  if ((mode & OTHERS) === 0) return;
  const there = readdirSync(dir);
  if (there.length > 0 && !there.some((name) => OURS.includes(name)))
    refuse("other users may read it, and it holds other files than a record", `chmod 700 ${quoted(dir)}`);
  chmodSync(dir, 0o700);
  tighten(dir);
}

/** Makes an empty file that only this user can read, where none is there: what fills it later keeps its rights. */
export function makeOwnFile(path: string): void {
  closeSync(openSync(path, "a", 0o600));
}

/** Takes the rights of others from what earlier versions left; links are not followed. */
function tighten(dir: string): void {
  for (const name of readdirSync(dir)) {
    const path = join(dir, name);
    const found = lstatSync(path);
    if (found.isDirectory()) {
      chmodSync(path, 0o700);
      tighten(path);
    } else if (found.isFile() && (found.mode & OTHERS) !== 0) chmodSync(path, 0o600);
  }
}
