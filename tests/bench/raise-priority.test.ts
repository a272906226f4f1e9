import { type ChildProcess, spawn } from "node:child_process";
import { readFileSync } from "node:fs";
import { afterEach, beforeEach, expect, test } from "vitest";
import { raisePriority } from "../../src/bench/raise-priority.ts";

let child: ChildProcess;
beforeEach(async () => {
  child = spawn("cat", [], { stdio: ["pipe", "ignore", "ignore"] });
  await new Promise((resolve) => child.once("spawn", resolve));
});
afterEach(() => void child.kill("SIGKILL"));

/** Fields of /proc/PID/stat by their numbers in proc(5). */
function stat(pid: number): (field: number) => number {
  const text = readFileSync(`/proc/${pid}/stat`, "latin1");
  const fields = text.slice(text.lastIndexOf(")") + 2).split(" ");
  return (field) => Number(fields[field - 3]);
}

test("what is said of the scheduling a process got is what the kernel says of it", () => {
  const pid = child.pid ?? 0;
  const said = raisePriority(pid, 7);
  const field = stat(pid);
  // proc(5): 19 nice, 40 rt_priority, 41 policy; sched(7): policy 1 is SCHED_FIFO.
  if (field(41) === 1) expect([said, field(40)]).toEqual(["real time (SCHED_FIFO 7)", 7]);
  else if (field(19) === -10) expect(said).toMatch(/^nice -10/);
  else expect(said).toBe("nice 0 (not allowed to raise it)");
});

test("a process that is not there is no reason to throw", () => {
  expect(raisePriority(2 ** 30, 7)).toBe("nice 0 (not allowed to raise it)");
});
