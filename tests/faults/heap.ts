import { setFlagsFromString } from "node:v8";
import { runInNewContext } from "node:vm";

setFlagsFromString("--expose-gc");
const collect = runInNewContext("gc") as () => void;

/** What this process really keeps, bytes: what is no longer used is collected first. */
export function heapBytes(): number {
  collect();
  return process.memoryUsage().heapUsed;
}
