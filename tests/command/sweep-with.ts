import { spawn } from "node:child_process";
import { SweepLine } from "../../shared/sweep.ts";
import { type Ended, PROGRAM } from "./run-program.ts";

export type LineOf<T extends SweepLine["event"]> = Extract<SweepLine, { event: T }>;

export interface Swept extends Ended {
  lines: SweepLine[];
  done: LineOf<"done">;
}

/** A sweep of the built program with its input open, and a hand that hears each line. */
export function sweepWith(
  args: readonly string[],
  hand: (line: SweepLine, say: (word: string) => void) => void,
): Promise<Swept> {
  const child = spawn(process.execPath, [PROGRAM, "sweep", ...args, "--json"], { stdio: "pipe" });
  const lines: SweepLine[] = [];
  let out = "";
  let err = "";
  let rest = "";
  child.stderr.setEncoding("utf8").on("data", (text: string) => {
    err += text;
  });
  child.stdout.setEncoding("utf8").on("data", (text: string) => {
    out += text;
    const parts = (rest + text).split("\n");
    rest = parts.pop() ?? "";
    for (const part of parts) {
      const line = SweepLine.parse(JSON.parse(part));
      lines.push(line);
      hand(line, (word) => child.stdin.write(`${word}\n`));
    }
  });
  return new Promise((resolve, reject) => {
    child.once("error", reject);
    child.once("close", (code) => {
      const done = lines.find((line): line is LineOf<"done"> => line.event === "done");
      if (done === undefined) reject(new Error(`no "done" came (exit ${code}): ${err}`));
      else resolve({ code, out, err, lines, done });
    });
  });
}
