import { spawn } from "node:child_process";
import { readFile, writeFile } from "node:fs/promises";
import { afterEach, expect, test } from "vitest";
import { CARD, PORT, portConfig, SysfsTree } from "../host/sysfs-tree.ts";
import { despiteBusyMachine, isOn, poweredBench, wasTooSlow } from "./powered-bench.ts";
import { endPrograms, PROGRAM, runProgram } from "./run-program.ts";

afterEach(endPrograms);

/** The document that a command prints; it fails where the command ended with another code than these. */
const json = async (args: readonly string[], codes: readonly number[] = [0, 3]) => {
  const { code, out, err } = await runProgram([...args, "--json"]);
  if (code === null || !codes.includes(code)) throw new Error(`${args.join(" ")} ended with ${code}: ${err}`);
  const lines = out.trim().split("\n");
  return JSON.parse(lines.at(-1) ?? "");
};

/** A trace of the board's start as its scenario has it: everything comes up but reset. */
function startTrace(resetVolts: number): string {
  const rails: [name: string, startMs: number, volts: number][] = [
    ["12v", 5, 12],
    ["3v3", 5, 3.3],
    ["5v", 10, 5],
    ["1v8", 14, 1.8],
    ["core", 25, 0.85],
    ["mem", 30, 1.35],
    ["reset", 140, resetVolts],
  ];
  const rows = Array.from({ length: 4000 }, (_, i) => {
    const ms = i * 0.05;
    const volts = rails.map(([, from, level]) => level * Math.min(1, Math.max(0, (ms - from) / 2)));
    return [ms / 1000, ...volts].join(",");
  });
  return `time_s,${rails.map(([name]) => name).join(",")}\n${rows.join("\n")}\n`;
}

// In real time, and again where the machine was too busy for it.
test("a whole job of a board with all rails good and a dead reset buffer, from intake to the host's word after the repair", {
  timeout: 300_000,
}, async () => {
  const bench = await poweredBench({ scenario: "reset-buffer" });
  const tree = new SysfsTree();
  tree.add("0000:00:01.0", PORT, "pcieport");
  const data = ["--data", `${bench.folder.path}/data`];
  try {
    const { job } = await json(["job", "new", "--title", "Kestrel K2, not seen by any host", ...data]);
    const drawn = await despiteBusyMachine(
      // A run that the machine had no time for ends with 1.
      () => json(["powerup", ...bench.args, "--watch", "5", "--job", job], [0, 1, 3]),
      ({ trip, class: found }) => (wasTooSlow(trip, found === "core-alive") ? trip.because : null),
    );
    expect(drawn).toMatchObject({ class: "core-alive", output: "off", job });

    // The card is in the slot; its link stays down.
    tree.bytes("0000:00:01.0", "config", portConfig({ present: true, active: false }));
    const look = async (name: string): Promise<string> =>
      bench.folder.write(name, (await runProgram(["host-look", "--sysfs", tree.root])).out);
    const before = await json(["job", "attach", job, await look("before.json"), "--port", "00:01.0", ...data]);
    expect(before.attached[0].finding.verdict).toMatchObject({ word: "no-link", port: "0000:00:01.0" });

    const trace = await bench.folder.write("start.csv", startTrace(0.02));
    const start = await json(["job", "attach", job, trace, ...data]);
    expect(start.attached[0].finding.result.problems.join()).toContain("reset does not come up");

    // What is filed is the evidence: the host's word and the start name the suspect.
    const board = bench.args[bench.args.indexOf("--board") + 1] ?? "";
    const found = await json(["diagnose", "--job", job, "--board", board, ...data]);
    expect(found.readings).toMatchObject({ draw: "core-alive", host: "attached" });
    expect(found.readings.checks).toEqual({ "host-look": "no-link", "start-trace": "reset-low" });
    expect(found.faults[0]).toMatchObject({ element: "reset" });
    // One level of a trace against a slip of one in thirty: the suspect by far, and no certainty yet.
    expect(found.faults[0].probability).toBeGreaterThan(3 * found.faults[1].probability);
    // The meter at the buffer's pin sees it too: two readings of two kinds.
    const sure = await json(["diagnose", "--job", job, "--board", board, "--answer", "reset-level=low", ...data]);
    expect(sure.faults[0]).toMatchObject({ element: "reset" });
    expect(sure.faults[0].probability).toBeGreaterThan(0.8);

    await json(["job", "repair", job, "Reset buffer U9 replaced", "--part", "buffer@U9=new", ...data]);
    tree.add("0000:01:00.0", CARD, "demo");
    tree.set("0000:01:00.0", "resource", "0x00000000fa000000 0x00000000faffffff 0x0000000000040200");
    tree.bytes("0000:00:01.0", "config", portConfig({ present: true, active: true }));
    const after = await json(["job", "attach", job, await look("after.json"), ...data]);
    expect(after.attached[0].finding.verdict.word).toBe("enumerated");
    const mended = await bench.folder.write("mended.csv", startTrace(1.8));
    expect((await json(["job", "attach", job, mended, ...data])).attached[0].finding.result.problems).toEqual([]);
    for (const words of [
      ["host-boots", "5/5"],
      ["memory", "pass"],
      ["load", "pass", "40 min"],
    ])
      await json(["job", "test", job, ...words, ...data]);

    const path = `${bench.folder.path}/report.html`;
    await json(["job", "report", job, "--out", path, ...data]);
    const report = (await readFile(path, "utf8")).replace(/<[^>]+>/g, " ").replace(/\s+/g, " ");
    expect(report).toContain("At the host: not listed by the host: it has no link.");
    expect(report).toMatch(/full link pass host-boots: pass, 5 of 5; listed by the host/);
    expect(report).toContain("! reset does not come up");
    expect(isOn(bench.simulation)).toBe(false);
  } finally {
    tree.remove();
    await bench.close();
  }
});

test("cycles power up again and again, off in between, and say what so many clean starts show", {
  timeout: 300_000,
}, async () => {
  const bench = await poweredBench({ scenario: "normal" });
  try {
    const { code, lines, err } = await despiteBusyMachine(
      async () => {
        const ran = await runProgram([
          ...[
            "cycle",
            ...bench.args,
            "--watch",
            "5",
            "--cold",
            "1",
            "--warm",
            "2",
            "--cold-off",
            "1",
            "--warm-off",
            "1",
            "--json",
          ],
        ]);
        return {
          ...ran,
          lines: ran.out
            .trim()
            .split("\n")
            .map((line) => JSON.parse(line)),
        };
      },
      (ran) => (ran.lines.at(-1)?.endedBy === "plan" ? null : ran.lines.at(-1)?.because),
    );
    expect(
      lines.map((each) => each.event),
      err,
    ).toEqual(["cycle", "cycle", "cycle", "done"]);
    expect(lines.slice(0, 3)).toMatchObject([
      { cycle: 1, start: "cold", class: "normal", clean: true },
      { cycle: 2, start: "warm", class: "normal", clean: true },
      { cycle: 3, start: "warm", class: "normal", clean: true },
    ]);
    // With no failure the exact bound is 1 − 0.05^(1/n).
    expect(lines[3]).toMatchObject({ clean: 3, cycles: 3, endedBy: "plan" });
    expect(lines[3].failureShareBelow).toBeCloseTo(1 - 0.05 ** (1 / 3), 6);
    expect(lines[3].plateauAmps).toMatchObject({ n: 3 });
    expect(lines[3].startMs.least).toBeGreaterThan(0);
    expect(code).toBe(0);
    expect(isOn(bench.simulation)).toBe(false);
    const shown = await json(["job", "show", lines[3].job, "--data", `${bench.folder.path}/data`]);
    const kinds = shown.log.map((each: { event: { kind: string } }) => each.event.kind);
    expect(kinds.filter((kind: string) => kind === "run-started")).toHaveLength(3);
    expect(kinds.at(-1)).toBe("cycles");
  } finally {
    await bench.close();
  }
});

test("each start has the host's word where the host writes its looks; one that it does not list is not clean", {
  timeout: 300_000,
}, async () => {
  const bench = await poweredBench({ scenario: "normal" });
  const tree = new SysfsTree();
  tree.add("0000:00:01.0", PORT, "pcieport");
  tree.add("0000:01:00.0", CARD, "demo");
  tree.set("0000:01:00.0", "resource", "0x00000000fa000000 0x00000000faffffff 0x0000000000040200");
  tree.bytes("0000:00:01.0", "config", portConfig({ present: true, active: true }));
  const seen = (await runProgram(["host-look", "--sysfs", tree.root])).out;
  tree.remove();
  const empty = new SysfsTree();
  empty.add("0000:00:01.0", PORT, "pcieport");
  empty.bytes("0000:00:01.0", "config", portConfig({ present: true, active: false }));
  const gone = (await runProgram(["host-look", "--sysfs", empty.root])).out;
  empty.remove();
  const file = await bench.folder.write("look.json", seen);
  let look = seen;
  const writing = setInterval(() => void writeFile(file, look), 200);
  try {
    const words = [
      "--warm",
      "2",
      "--warm-off",
      "1",
      "--watch",
      "5",
      "--host-look",
      file,
      "--port",
      "00:01.0",
      "--json",
    ];
    const child = spawn(process.execPath, [PROGRAM, "cycle", ...bench.args, ...words]);
    let out = "";
    child.stderr.resume();
    child.stdout.setEncoding("utf8").on("data", (text: string) => {
      out += text;
      if (out.includes('"cycle":1')) look = gone;
    });
    const code = await new Promise((resolve) => child.once("close", resolve));
    const lines = out
      .trim()
      .split("\n")
      .map((line) => JSON.parse(line));
    expect(lines).toMatchObject([
      { event: "cycle", host: "enumerated", clean: true },
      { event: "cycle", host: "no-link", clean: false, because: [expect.stringContaining("no link")] },
      { event: "done", clean: 1, cycles: 2, host: { enumerated: 1, "no-link": 1 } },
    ]);
    expect(code).toBe(3);
    const shown = await json(["job", "show", lines[2].job, "--data", `${bench.folder.path}/data`]);
    const kinds = shown.log.map((each: { event: { kind: string } }) => each.event.kind);
    expect(kinds.filter((kind: string) => kind === "host-look")).toHaveLength(2);
  } finally {
    clearInterval(writing);
    await bench.close();
  }
});

test("a board that trips ends the cycles with 3; a person ends them with 1; both are off and filed", {
  timeout: 300_000,
}, async () => {
  const bench = await poweredBench({ scenario: "dead-short", typesColdOhms: false });
  try {
    const { code, out } = await runProgram([
      "cycle",
      ...bench.args,
      "--warm",
      "3",
      "--waive",
      "a test on a simulated bench",
      "--json",
    ]);
    const lines = out
      .trim()
      .split("\n")
      .map((line) => JSON.parse(line));
    expect(code).toBe(3);
    expect(lines).toMatchObject([
      { event: "cycle", clean: false },
      { event: "done", clean: 0, cycles: 1, failureShareBelow: 1, endedBy: "board" },
    ]);
    expect(isOn(bench.simulation)).toBe(false);
  } finally {
    await bench.close();
  }
  const good = await poweredBench({ scenario: "normal" });
  try {
    const child = spawn(process.execPath, [
      PROGRAM,
      "cycle",
      ...good.args,
      "--warm",
      "5",
      "--warm-off",
      "60",
      "--json",
    ]);
    let out = "";
    child.stderr.resume();
    child.stdout.setEncoding("utf8").on("data", (text: string) => {
      out += text;
      if (out.includes('"event":"cycle"')) child.kill("SIGINT");
    });
    const code = await new Promise((resolve) => child.once("close", resolve));
    expect(code).toBe(1);
    expect(JSON.parse(out.trim().split("\n").at(-1) ?? "")).toMatchObject({
      event: "done",
      endedBy: expect.any(String),
      cycles: 1,
    });
    expect(isOn(good.simulation)).toBe(false);
  } finally {
    await good.close();
  }
});
