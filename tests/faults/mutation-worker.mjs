/**
 * Runs the built program's own entry again and again in one process: for each message `{ main, args }` the answer is the exit code, what
 * was said, the time and the memory. What a command leaves open in here, the next ones have to live with.
 */
import { EventEmitter } from "node:events";
import { readFileSync, writeFileSync } from "node:fs";

class Ended extends Error {}
EventEmitter.defaultMaxListeners = 0;
const said = { out: "", err: "" };
const take = (which) => (chunk, encoding, callback) => {
  said[which] += typeof chunk === "string" ? chunk : Buffer.from(chunk).toString("utf8");
  (typeof encoding === "function" ? encoding : callback)?.();
  return true;
};
process.stdout.write = take("out");
process.stderr.write = take("err");
// The parser of the command line ends the program in the middle of a call; nothing is energised by then.
process.exit = (code) => {
  if (code !== undefined) process.exitCode = code;
  throw new Ended();
};
let unexpected = null;
const onUnexpected = (cause) => {
  if (!(cause instanceof Ended)) unexpected = String(cause?.stack ?? cause);
};
process.on("uncaughtException", onUnexpected);
process.on("unhandledRejection", onUnexpected);

let runs = 0;
process.on("message", async ({ main, args }) => {
  said.out = said.err = "";
  unexpected = null;
  process.exitCode = undefined;
  process.argv = [process.execPath, main, ...args];
  const from = performance.now();
  // From here on the peak is this run's own (proc(5), clear_refs).
  writeFileSync("/proc/self/clear_refs", "5");
  try {
    await import(`${main}?run=${++runs}`);
  } catch (cause) {
    onUnexpected(cause);
  }
  const most = Number(/^VmHWM:\s+(\d+) kB$/m.exec(readFileSync("/proc/self/status", "utf8"))?.[1]) * 1024;
  const children = readFileSync(`/proc/self/task/${process.pid}/children`, "utf8").trim();
  process.send({ code: process.exitCode ?? 0, ...said, unexpected, ms: performance.now() - from, most, children });
});
