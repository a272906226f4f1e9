import { join, resolve } from "node:path";
import { platformOf } from "../../system/platform.ts";

/**
 * The folder of the record: the flag, else FIRSTAMP_DATA, else the system's place for such things:
 * $XDG_DATA_HOME/firstamp or ~/.local/share/firstamp (XDG Base Directory Specification 0.8), ~/Library/Application
 * Support/firstamp, %LOCALAPPDATA%\firstamp. An empty value counts as not given, and so does a relative XDG_DATA_HOME,
 * as that specification asks. The answer is absolute; nothing is made.
 */
export function dataDirectory(
  flag?: string,
  environment: NodeJS.ProcessEnv = process.env,
  platform?: NodeJS.Platform,
): string {
  const given = flag || environment["FIRSTAMP_DATA"];
  if (given) return resolve(given);
  return join(platformOf(platform).dataHome(environment), "firstamp");
}
