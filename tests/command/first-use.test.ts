import type { ChildProcessWithoutNullStreams } from "node:child_process";
import { chmod, readFile, stat, writeFile } from "node:fs/promises";
import { afterEach, describe, expect, it } from "vitest";
import { BenchFile } from "../../shared/files/bench-file.ts";
import { type Simulation, startSimulation } from "../../src/simulator/start-simulation.ts";
import { realClock } from "../../src/system/real-clock.ts";
import { timesOn } from "./powered-bench.ts";
import { PROGRAM, runProgram, type TestFolder, testFolder } from "./run-program.ts";
import { onTerminal } from "./socat-terminal.ts";

const CTRL_C = "\u0003";
let folder: TestFolder;
let simulation: Simulation | undefined;
let child: ChildProcessWithoutNullStreams | undefined;
afterEach(async () => {
  if (child !== undefined && child.exitCode === null && child.signalCode === null) {
    const gone = new Promise((resolve) => child?.once("close", resolve));
    child.kill("SIGTERM");
    await gone;
  }
  child = undefined;
  await simulation?.close();
  simulation = undefined;
  await folder.remove();
});

/** `firstamp` alone on a terminal of its own, by socat (which these tests need, and fail without). */
async function aloneOnTerminal(typedAhead = "") {
  folder = await testFolder();
  const script = await folder.write(
    "run.sh",
    `#!/bin/sh\ntrap : INT HUP\nstty cols 1000 rows 40\ncd ${folder.path}\nFIRSTAMP_DATA=${folder.path}/data '${process.execPath}' '${PROGRAM}'\necho "ended with $?"\n`,
  );
  await chmod(script, 0o755);
  const terminal = onTerminal(script);
  child = terminal.child;
  if (typedAhead !== "") terminal.type(typedAhead);
  let seen = 0;
  /** Waits for a text after what was waited for before. */
  const until = async (fits: RegExp): Promise<void> => {
    seen = await terminal.until(fits, seen);
  };
  return {
    until,
    screen: terminal.screen,
    /** Waits until a question takes an answer (its last row is drawn a second time then), and types it. */
    answer: async (question: RegExp, keys: string) => {
      const end = "\\[[^\\]]*\\]";
      await until(new RegExp(`${question.source}[\\s\\S]*?${end}[\\s\\S]*?${end} `));
      terminal.type(keys);
    },
  };
}

async function simulate(): Promise<string[]> {
  simulation = await startSimulation({
    scenario: "single-feed",
    transport: "tcp",
    dialect: "numbered",
    clock: realClock,
  });
  return Object.values(simulation.benchFile.instruments).map((each) => each.address);
}

const NETWORK = /Address of an instrument on the network/;
const OPEN = /Open them now\?/;

describe("firstamp alone on a terminal", { timeout: 60_000 }, () => {
  it("finds what answers, writes the bench file, checks it with open leads, and switches nothing on", async () => {
    const [supply = "", meter = ""] = await simulate();
    const terminal = await aloneOnTerminal();
    await terminal.answer(NETWORK, `${supply}\r`);
    await terminal.answer(NETWORK, `${meter}\r`);
    await terminal.answer(NETWORK, "\r");
    // What is opened is said before the question.
    await terminal.until(/would open these addresses one after the other/);
    await terminal.answer(OPEN, "y\r");
    await terminal.until(/driver numbered-supply: Several outputs/);
    await terminal.until(/meter, driver scpi-meter: /);
    await terminal.answer(/channel 1 of psu power\?/, "not a name\r");
    await terminal.until(/A name is a letter/);
    await terminal.answer(/channel 1 of psu power\?/, "in12\r");
    await terminal.answer(/Where shall the bench file be written\?/, "\r");
    await terminal.until(/Written: /);
    await terminal.answer(/Check the supplies now\?/, "y\r");
    await terminal.until(/✓ in12 \(psu, channel 1\): the output is off, 0 V and 100 mA were set and read back/);
    await terminal.until(/Next: firstamp serve --bench bench\.json/);
    await terminal.answer(/Rehearse on a simulated bench now\?/, "n\r");
    await terminal.until(/ended with 0/);
    const file = `${folder.path}/bench.json`;
    const bench = BenchFile.parse(JSON.parse(await readFile(file, "utf8")));
    expect(bench).toMatchObject({
      instruments: { psu: { address: supply, serialNumber: "SN1" }, dmm: { address: meter } },
      feeds: { in12: { supply: "psu", channel: 1 } },
      meter: "dmm",
    });
    expect((await stat(file)).mode & 0o777).toBe(0o600);
    expect(timesOn(simulation as Simulation)).toBe(0);
  });

  it("shows what an instrument says visibly, and never obeys it", async () => {
    const [supply = ""] = await simulate();
    // A title, a cleared screen, the same by a C1 byte, and a bell: OSC, CSI 2 J, BEL (ECMA-48, 8.3.89, 8.3.39).
    simulation?.misbehave.identity("psu", "Bench,\u001b[2J\u001b]0;owned\u0007\u009b2Jsupply,SN1,1");
    const terminal = await aloneOnTerminal();
    await terminal.answer(NETWORK, `${supply}\r`);
    await terminal.answer(NETWORK, "\r");
    await terminal.answer(OPEN, "y\r");
    await terminal.until(/was "Bench,\\u001b\[2J\\u001b\]0;owned/);
    await terminal.answer(/Rehearse on a simulated bench now\?/, "n\r");
    await terminal.until(/ended with 5/);
    for (const obeyed of ["\u001b[2J", "\u001b]", "\u0007", "\u009b"]) expect(terminal.screen()).not.toContain(obeyed);
  });

  it("asks before it replaces a bench file, and never replaces another", async () => {
    const [supply = ""] = await simulate();
    const terminal = await aloneOnTerminal();
    const other = await folder.write("other.json", { name: "Kestrel K2" });
    const before = JSON.stringify({ ...simulation?.benchFile, simulated: undefined });
    await writeFile(`${folder.path}/bench.json`, before);
    await terminal.answer(NETWORK, `${supply}\r`);
    await terminal.answer(NETWORK, "\r");
    await terminal.answer(OPEN, "y\r");
    await terminal.answer(/channel 1 of psu power\?/, "\r");
    await terminal.answer(/Where shall/, "\r");
    await terminal.answer(/is already a bench file\. Replace it\?/, "n\r");
    await terminal.answer(/Where shall/, "other.json\r");
    await terminal.until(/another kind of file is there/);
    expect(await readFile(other, "utf8")).toBe('{"name":"Kestrel K2"}');
    expect(await readFile(`${folder.path}/bench.json`, "utf8")).toBe(before);
    await terminal.answer(/Where shall/, "\r");
    await terminal.answer(/is already a bench file\. Replace it\?/, "y\r");
    await terminal.until(/Written: /);
    await terminal.answer(/Check the supplies now\?/, CTRL_C);
    await terminal.until(/You left the set-up; nothing was switched on\.[\s\S]*ended with 2/);
    expect(await readFile(`${folder.path}/bench.json`, "utf8")).toContain('"serialNumber": "SN1"');
  });

  it("takes nothing typed ahead for an answer, and opens nothing without a yes", async () => {
    const [supply = ""] = await simulate();
    const terminal = await aloneOnTerminal(`${supply}\r\ry\r`);
    await terminal.until(/What was typed before the question was shown does not count\./);
    await terminal.answer(/Answer it now:/, `${supply}\r`);
    await terminal.answer(NETWORK, "\r");
    await terminal.answer(OPEN, "\r");
    await terminal.until(/No instrument answered\./);
    await terminal.answer(/Rehearse on a simulated bench now\?/, "n\r");
    await terminal.until(/ended with 5/);
    expect(simulation?.bytes.in).toBe(0);
  });

  it("offers a rehearsal where there is no instrument, on a bench that is simulated", async () => {
    const terminal = await aloneOnTerminal();
    await terminal.answer(NETWORK, "\r");
    await terminal.answer(/Rehearse on a simulated bench now\?/, "y\r");
    await terminal.until(/Supply, meter and board are simulated; nothing real is energised/);
    await terminal.until(/http:\/\/127\.0\.0\.1:\d+\/#k=/);
    child?.stdin.write(CTRL_C);
    await terminal.until(/ended with 0/);
  });
});

describe("firstamp alone without a terminal", () => {
  it("prints the help, as before", async () => {
    folder = await testFolder();
    const { code, out, err } = await runProgram([]);
    expect(out + err).toContain("Usage: firstamp");
    expect(code).toBe(2);
  });
});
