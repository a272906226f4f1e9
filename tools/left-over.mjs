import { readdirSync, readFileSync } from "node:fs";

/** A guardian ends by itself once its supply is proved off; a browser and a server take a moment too. */
const END_WITHIN_MS = 10_000;
const LOOK_EVERY_MS = 100;
/** A browser is started with thousands of letters. */
const LONGEST_COMMAND = 200;

/** Processes with this text, "NAME=value", in their environment, by the kernel's account (proc(5)); none where it keeps none. */
function marked(mark) {
  let names = [];
  try {
    names = readdirSync("/proc");
  } catch {
    return [];
  }
  const found = [];
  for (const pid of names.filter((each) => /^\d+$/.test(each))) {
    try {
      if (!readFileSync(`/proc/${pid}/environ`, "latin1").split("\0").includes(mark)) continue;
      const command = readFileSync(`/proc/${pid}/cmdline`, "utf8").split("\0").join(" ").trim();
      if (Number(pid) !== process.pid) found.push({ pid: Number(pid), command });
    } catch {
      // It has ended, or is another user's.
    }
  }
  return found;
}

/**
 * Waits until no process has this text in its environment. Those that are still there after `withinMs` are ended, each by its
 * id, and named by their commands: they were started by whoever set it, and nobody ended them.
 */
export async function endLeftOver(mark, withinMs = END_WITHIN_MS) {
  const untilMs = performance.now() + withinMs;
  let left = marked(mark);
  while (left.length > 0 && performance.now() < untilMs) {
    await new Promise((done) => setTimeout(done, LOOK_EVERY_MS));
    left = marked(mark);
  }
  for (const { pid } of left) {
    try {
      process.kill(pid, "SIGKILL");
    } catch {
      // It ended in between.
    }
  }
  return left.map(({ pid, command }) => `${command.slice(0, LONGEST_COMMAND)} (process ${pid})`);
}
