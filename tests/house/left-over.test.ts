import { spawn } from "node:child_process";
import { once } from "node:events";
import path from "node:path";
import { expect, test } from "vitest";

const { endLeftOver } = (await import(path.resolve(import.meta.dirname, "../../tools/left-over.mjs"))) as {
  endLeftOver(mark: string, withinMs?: number): Promise<string[]>;
};

/** A process of its own with this in its environment, started by another that ends at once, as a guardian is. */
async function startOrphan(name: string, value: string): Promise<number> {
  const stays = `require("node:child_process").spawn(process.execPath, ["-e", "setInterval(() => {}, 1000)", "stays"], { detached: true, stdio: "ignore" })`;
  const parent = spawn(process.execPath, ["-e", `const child = ${stays}; console.log(child.pid); child.unref();`], {
    env: { ...process.env, [name]: value },
    stdio: ["ignore", "pipe", "inherit"],
  });
  let out = "";
  parent.stdout.setEncoding("utf8").on("data", (text: string) => {
    out += text;
  });
  await once(parent, "close");
  return Number(out);
}

test("what a run of the tests leaves behind is named and ended, also when its parent has gone; nothing else is", async () => {
  const [ours, theirs] = await Promise.all([
    startOrphan("FIRSTAMP_TEST_LEFT", "ours"),
    startOrphan("FIRSTAMP_TEST_LEFT", "theirs"),
  ]);
  try {
    expect(await endLeftOver("FIRSTAMP_TEST_LEFT=nobody's", 100)).toEqual([]);
    expect(await endLeftOver("FIRSTAMP_TEST_LEFT=ours", 100)).toEqual([
      expect.stringMatching(new RegExp(`setInterval.* stays \\(process ${ours}\\)$`)),
    ]);
    expect(await endLeftOver("FIRSTAMP_TEST_LEFT=ours", 5000)).toEqual([]);
    expect(() => process.kill(theirs, 0)).not.toThrow();
  } finally {
    process.kill(theirs, "SIGKILL");
  }
});
