import { homedir } from "node:os";
import { join, resolve } from "node:path";

/**
 * Where the record is kept: the flag, else FIRSTAMP_DATA, else the system's place for such things:
 * $XDG_DATA_HOME/firstamp or ~/.local/share/firstamp (XDG Base Directory Specification 0.8), ~/Library/Application
 * Support/firstamp, %LOCALAPPDATA%\firstamp. An empty value counts as not given, and so does a relative XDG_DATA_HOME,
 * as that specification asks. The answer is absolute; nothing is made.
 */
export function dataDirectory(
  flag?: string,
  environment: NodeJS.ProcessEnv = process.env,
  platform: NodeJS.Platform = process.platform,
): string {
  const given = flag || environment["FIRSTAMP_DATA"];
  if (given) return resolve(given);
  if (platform === "darwin") return join(homedir(), "Library", "Application Support", "firstamp");
  if (platform === "win32") return join(environment["LOCALAPPDATA"] || join(homedir(), "AppData", "Local"), "firstamp");
  const xdg = environment["XDG_DATA_HOME"];
  return join(xdg?.startsWith("/") ? xdg : join(homedir(), ".local", "share"), "firstamp");
}
