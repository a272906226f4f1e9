import { copyFileSync, mkdirSync, readFileSync, renameSync } from "node:fs";
import { homedir } from "node:os";
import { dirname, join } from "node:path";
import { root } from "./root.mjs";

const folder = join(root, "node_modules", "better-sqlite3");
const built = join(folder, "build", "Release", "better_sqlite3.node");

/** One file per version of the package, of Node's binary interface and of machine, in the person's own cache folder. */
function kept() {
  const { version } = JSON.parse(readFileSync(join(folder, "package.json"), "utf8"));
  const cache = process.env.XDG_CACHE_HOME || join(homedir(), ".cache");
  const name = `better-sqlite3-${version}-node-${process.versions.modules}-${process.platform}-${process.arch}.node`;
  return join(cache, "firstamp", name);
}

/** Copies by way of a second name, so that no other process ever loads half a file. */
function place(from, to) {
  try {
    mkdirSync(dirname(to), { recursive: true });
    copyFileSync(from, `${to}.${process.pid}`);
    renameSync(`${to}.${process.pid}`, to);
    return true;
  } catch {
    return false;
  }
}

/** Keeps what was just compiled, so that the next checkout on this machine need not. */
export function keepBuild() {
  return place(built, kept());
}

/** Puts a kept one in place; false when there is none. The caller tries whether it loads. */
export function restoreBuild() {
  return place(kept(), built);
}
