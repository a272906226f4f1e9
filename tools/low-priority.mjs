import { spawn } from "node:child_process";
import os from "node:os";

/** Lets all else that runs come before this child process. */
export function giveWay(child) {
  try {
    if (child.pid !== undefined) os.setPriority(child.pid, os.constants.priority.PRIORITY_LOW);
  } catch {
    // It has ended already.
  }
}

/**
 * Runs a command that gives way to everything else, so that it takes only time that others wait through. Answers with all that
 * it said, and whether it ended well.
 */
export function atLowPriority(command, args, options) {
  const child = spawn(command, args, { ...options, stdio: ["ignore", "pipe", "pipe"] });
  giveWay(child);
  let output = "";
  for (const stream of [child.stdout, child.stderr])
    stream.setEncoding("utf8").on("data", (text) => {
      output += text;
    });
  return new Promise((done) => {
    child.once("error", (error) => done({ ok: false, output: error.message }));
    child.once("close", (code) => done({ ok: code === 0, output }));
  });
}
