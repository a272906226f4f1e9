import { readFileSync } from "node:fs";
import { thisPlatform } from "./platform.ts";

/**
 * Whether this process may read its terminal: a process in the background that does is stopped by the system, whatever it has switched
 * on. True where standard input is no terminal, and where the terminal's foreground group is this process's own (proc(5), fields 5 and
 * 8 of /proc/self/stat); elsewhere nobody knows, and it is false.
 */
export function mayReadInput(): boolean {
  if (!process.stdin.isTTY) return true;
  try {
    const text = readFileSync(`${thisPlatform.processFolder}/self/stat`, "utf8");
    // The name of the program stands in brackets and may hold anything.
    const [, , group, , , foreground] = text.slice(text.lastIndexOf(")") + 2).split(" ");
    return group !== undefined && group === foreground;
  } catch {
    return false;
  }
}
