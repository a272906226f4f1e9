import { mkdirSync, readFileSync, renameSync, rmSync, statSync, utimesSync, writeFileSync } from "node:fs";
import { dirname, join } from "node:path";
import { setTimeout as wait } from "node:timers/promises";
import { root } from "./root.mjs";

const path = join(root, ".cache", "tools.lock");

function holder() {
  try {
    return Number.parseInt(readFileSync(path, "utf8"), 10);
  } catch {
    return null;
  }
}

/** A holder touches the lock every few seconds: after a crash its number may belong to any other process. */
const untouchedMs = 600_000;

function alive(pid, file = path) {
  try {
    if (Date.now() - statSync(file).mtimeMs > untouchedMs) return false;
    process.kill(pid, 0);
    return true;
  } catch (error) {
    return error.code === "EPERM";
  }
}

/** Moves a dead holder's lock away; puts it back when another process was quicker and it is a live one by now. */
function clearStale() {
  const aside = `${path}.${process.pid}`;
  try {
    renameSync(path, aside);
  } catch {
    return;
  }
  const pid = Number.parseInt(readFileSync(aside, "utf8"), 10);
  if (alive(pid, aside)) renameSync(aside, path);
  else rmSync(aside, { force: true });
}

/**
 * Runs `work` while no other process of this checkout installs or builds. Waits as long as it takes, and says so after
 * two seconds. A child started by `work` runs under its parent's lock.
 */
export async function locked(work) {
  if (process.env.FIRSTAMP_TOOLS_LOCK === root) return await work();
  mkdirSync(dirname(path), { recursive: true });
  const from = Date.now();
  let said = 2_000;
  for (;;) {
    try {
      writeFileSync(path, String(process.pid), { flag: "wx" });
      break;
    } catch (error) {
      if (error.code !== "EEXIST") throw error;
    }
    const pid = holder();
    if (pid !== null && Number.isNaN(pid)) await wait(200); // between the other's open and its write
    const now = holder();
    if (now !== null && (Number.isNaN(now) || !alive(now))) clearStale();
    if (Date.now() - from > said) {
      process.stderr.write(`firstamp: waiting for process ${now}, which is setting up or building this checkout\n`);
      said += 10_000;
    }
    await wait(200);
  }
  const release = () => {
    if (holder() === process.pid) rmSync(path, { force: true });
  };
  process.once("exit", release);
  const touch = setInterval(() => {
    if (holder() === process.pid) utimesSync(path, new Date(), new Date());
  }, 5_000);
  touch.unref();
  process.env.FIRSTAMP_TOOLS_LOCK = root;
  try {
    return await work();
  } finally {
    clearInterval(touch);
    delete process.env.FIRSTAMP_TOOLS_LOCK;
    process.removeListener("exit", release);
    release();
  }
}
