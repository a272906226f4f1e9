import type { ChildProcessWithoutNullStreams } from "node:child_process";
import { existsSync, readFileSync } from "node:fs";
import { chmod } from "node:fs/promises";
import { afterEach, describe, expect, it } from "vitest";
import { despiteBusyMachine, isOn, type PoweredBench, poweredBench, timesOn, untilTrue } from "./powered-bench.ts";
import { PROGRAM } from "./run-program.ts";
import { onTerminal, type SocatTerminal } from "./socat-terminal.ts";

interface Terminal extends SocatTerminal {
  ended(): Promise<number>;
}

const CTRL_C = "\u0003";
const CTRL_D = "\u0004";
/** The last row of a question is drawn a second time when its answer counts. */
const ANSWERABLE = /\[y\/N\][\s\S]*\[y\/N\]/;
let rig: PoweredBench;
const rigs: PoweredBench[] = [];
let child: ChildProcessWithoutNullStreams | undefined;
afterEach(async () => {
  if (child !== undefined && child.exitCode === null && child.signalCode === null) {
    const gone = new Promise((resolve) => child?.once("close", resolve));
    child.kill("SIGTERM");
    await gone;
  }
  for (const each of rigs.splice(0)) await each.close();
});

/** `powerup` on a terminal of its own, 80 columns by 40 rows, by socat (which these tests need, and fail without). */
async function powerupOnTerminal(...more: string[]): Promise<Terminal> {
  rig = await poweredBench({ scenario: "single-feed" });
  rigs.push(rig);
  const words = [process.execPath, PROGRAM, "powerup", ...rig.args, ...more].map((each) => `'${each}'`).join(" ");
  const script = await rig.folder.write(
    "run.sh",
    `#!/bin/sh\ntrap : INT HUP\nstty cols 80 rows 40\n${words}\ncode=$?\necho $code > ${rig.folder.path}/code\necho "ended with $code"\n`,
  );
  await chmod(script, 0o755);
  const terminal = onTerminal(script);
  child = terminal.child;
  return {
    ...terminal,
    ended: async () => {
      await terminal.until(/ended with \d+/);
      return Number(/ended with (\d+)/.exec(terminal.screen())?.[1]);
    },
  };
}

/** Cursor moves and erasures (ECMA-48, CSI … letter). */
const CONTROLS = new RegExp(`${"\u001b"}\\[[0-9;]*[A-Za-z]`, "g");

/** The rows as they stand in the end, without lines that were written over. */
const rows = (screen: string): string[] =>
  screen
    // Cursor to the first column: what was there is written over.
    .replaceAll("\u001b[1G", "\r")
    .replace(CONTROLS, "")
    .replace(/\r+\n/g, "\n")
    .split("\n")
    .map((row) => row.split("\r").at(-1) ?? "");

describe("powerup on a terminal", { timeout: 120_000 }, () => {
  it("shows the cautions, asks once naming feed, volts and limit, and a no energises nothing: 2", async () => {
    const terminal = await powerupOnTerminal();
    await terminal.until(ANSWERABLE);
    const asked = rows(terminal.screen());
    expect(asked.join("\n")).toContain("not an emergency stop");
    // Wren W1's board file: 12 V, first limit as the plan has it.
    expect(asked.at(-1)).toMatch(/^Energise in12 to 12 V at \d+(\.\d+)? A\? \[y\/N\]/);
    for (const row of asked) expect(row.length).toBeLessThanOrEqual(80);
    terminal.type("n\r");
    expect(await terminal.ended()).toBe(2);
    expect(terminal.screen()).toContain("Not confirmed; nothing was energised.");
    expect(rows(terminal.screen()).filter((row) => row.includes("[y/N]"))).toHaveLength(1);
    expect(timesOn(rig.simulation)).toBe(0);
  });

  it.each([
    ["Ctrl-C at the question is a no", CTRL_C, 1, "Stopped by Ctrl-C; nothing was energised."],
    ["the end of the input is a no", CTRL_D, 2, "Not confirmed; nothing was energised."],
    ["anything but y or yes is a no", "ja\r", 2, "Not confirmed; nothing was energised."],
  ])("%s", async (_, keys, code, says) => {
    const terminal = await powerupOnTerminal();
    await terminal.until(ANSWERABLE);
    terminal.type(keys);
    expect(await terminal.ended()).toBe(code);
    expect(terminal.screen()).toContain(says);
    expect(timesOn(rig.simulation)).toBe(0);
  });

  it.each([
    ["before the program starts, whole", "y\r", ""],
    ["before the program starts, without its Enter", "y", ""],
    ["as soon as the question is there", "", "y\r"],
  ])("what is typed %s is no answer", async (_, before, atOnce) => {
    const terminal = await powerupOnTerminal();
    terminal.type(before);
    await terminal.until(/\[y\/N\]/);
    terminal.type(atOnce);
    await terminal.until(/does not count[\s\S]*Answer it now: \[y\/N\]/);
    expect(timesOn(rig.simulation)).toBe(0);
    terminal.type("\r");
    expect(await terminal.ended()).toBe(2);
    expect(terminal.screen()).toContain("Not confirmed; nothing was energised.");
    expect(timesOn(rig.simulation)).toBe(0);
  });

  it("shows one live line that fits, and Ctrl-C ends the run with the output off", async () => {
    const watching = /watch \d+\.\d\/60\.0 s {2}in12 1[12]\.\d+ V \d\.\d+ A {2}the draw to settle/;
    const { terminal, wasOn, code } = await despiteBusyMachine(
      async () => {
        const made = await powerupOnTerminal("--watch", "60");
        await made.until(ANSWERABLE);
        made.type("y\r");
        await made.until(new RegExp(`${watching.source}|ended with`));
        const wasOn = isOn(rig.simulation);
        made.type(CTRL_C);
        return { terminal: made, wasOn, code: await made.ended() };
      },
      ({ terminal, wasOn }) =>
        wasOn ? null : (rows(terminal.screen()).find((row) => row.includes("Stopped")) ?? "no reason"),
    );
    expect(wasOn).toBe(true);
    expect(code).toBe(1);
    expect(isOn(rig.simulation)).toBe(false);
    const live = terminal.screen().split("\r\u001b[2K").slice(1, -1);
    expect(live.length).toBeGreaterThan(5);
    for (const line of live) expect(line.split("\r")[0]?.length).toBeLessThanOrEqual(77);
    const last = rows(terminal.screen()).join("\n");
    expect(last).toContain("stopped by Ctrl-C");
    expect(last).toContain("Output: off");
  });

  it.each([
    // A held run that a person ends is as planned, one that ends by itself was stopped; 134 would be SIGABRT (POSIX.1, shell
    // exit status 128 + 6).
    ["a held run", ["--keep-on"], /stay on under watch|ended with/, "0"],
    ["a run that is not held", ["--watch", "60"], /watch \d+\.\d\/60|ended with/, "1"],
  ])(
    "ends %s with a code of the table, and everything off, when its terminal is closed",
    async (_, more, isUp, code) => {
      const terminal = await powerupOnTerminal("--yes", ...more);
      await terminal.until(isUp);
      expect(isOn(rig.simulation)).toBe(true);
      child?.kill("SIGKILL");
      const file = `${rig.folder.path}/code`;
      await untilTrue(() => existsSync(file) && readFileSync(file, "utf8").endsWith("\n"));
      expect(readFileSync(file, "utf8").trim()).toBe(code);
      expect(isOn(rig.simulation)).toBe(false);
    },
  );

  it("ends with the code that was decided, however often Ctrl-C is pressed once everything is off and said", async () => {
    const { code } = await despiteBusyMachine(
      async () => {
        const terminal = await powerupOnTerminal("--yes");
        await terminal.until(/Output: \w+|ended with/);
        // From here to its end, every few milliseconds: 130 would be the signal's own (POSIX.1, shell exit status 128 + 2).
        const pressing = setInterval(() => terminal.type(CTRL_C), 3);
        const made = await terminal.ended();
        clearInterval(pressing);
        return { code: made, screen: terminal.screen() };
      },
      ({ code, screen }) => (code === 1 ? (rows(screen).find((row) => row.includes("Failed")) ?? "no reason") : null),
    );
    expect(code).toBe(0);
    expect(isOn(rig.simulation)).toBe(false);
  });
});
