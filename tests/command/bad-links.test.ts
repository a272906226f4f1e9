import { chmod, readFile } from "node:fs/promises";
import { type AddressInfo, createServer } from "node:net";
import path from "node:path";
import { afterAll, describe, expect, it } from "vitest";
import { type FarEnd, ptyFarEnd, socketFarEnd } from "../link/far-end.ts";
import { openPtyPair, type PtyPair } from "../link/pty-pair.ts";
import { endedInTime, isOn, type PoweredBench, poweredBench, timesOn, untilTrue } from "./powered-bench.ts";
import { endPrograms, PROGRAM, runProgram, startProgram, type TestFolder, testFolder } from "./run-program.ts";

const folders: TestFolder[] = [];
const ends: FarEnd[] = [];
const pairs: PtyPair[] = [];
const benches: PoweredBench[] = [];
afterAll(async () => {
  await endPrograms();
  for (const each of ends) await each.close();
  for (const each of pairs) await each.close();
  for (const each of benches) await each.close();
  for (const each of folders) await each.remove();
});

/** A power-up of an unknown board on a bench whose supply is at that address. */
async function powerupAt(address: string, more: { serial?: object; driver?: string } = {}) {
  const folder = await testFolder();
  folders.push(folder);
  const bench = await folder.write("bench.json", {
    version: 1,
    instruments: { psu: { kind: "supply", address, ...more } },
    feeds: { aux: { supply: "psu" } },
  });
  return ["powerup", "--bench", bench, "--data", `${folder.path}/data`, "--waive", "a test", "--json"];
}

/** Something at the other end of a real socket or pty, that is no instrument. */
async function farEnd(kind: "socket" | "pty"): Promise<FarEnd> {
  const far = await (kind === "socket" ? socketFarEnd() : ptyFarEnd());
  ends.push(far);
  return far;
}

const bench = async (...options: Parameters<typeof poweredBench>): Promise<PoweredBench> => {
  const made = await poweredBench(...options);
  benches.push(made);
  return made;
};

/** The lines of a program that ended as it should: a sentence, no stack, nothing on standard output. */
function sentenceOf(end: { out: string; err: string }): string {
  expect(end.out).toBe("");
  expect(end.err).not.toMatch(/\n {4}at /);
  return end.err;
}

describe.concurrent("a link that does not work", () => {
  it("no such port: 5, and where to look", async ({ expect }) => {
    const end = await runProgram(await powerupAt("ASRL/dev/ttyNOTHERE::INSTR"));
    const said = sentenceOf(end);
    expect(said).toMatch(
      /"psu".*"\/dev\/ttyNOTHERE": the port does not exist; is the cable plugged in\?.*"firstamp find".*no output was touched/,
    );
    expect(end.code).toBe(5);
  });

  it("a file that is no port: 5", async ({ expect }) => {
    const folder = await testFolder();
    folders.push(folder);
    const end = await runProgram(await powerupAt(`ASRL${await folder.write("no-port", "x")}::INSTR`));
    expect(sentenceOf(end)).toMatch(/not a serial port.*no output was touched/);
    expect(end.code).toBe(5);
  });

  it("no permission: 5, and the one command that mends it", async ({ expect }) => {
    const pair = await openPtyPair();
    pairs.push(pair);
    await chmod(pair.a, 0o000);
    const args = await powerupAt(`ASRL${pair.a}::INSTR`);
    const folder = path.dirname(args[2] as string);
    // Root may do anything, so that another user has to try.
    const isRoot = process.getuid?.() === 0;
    await chmod(folder, 0o777);
    const end = await runProgram(args, isRoot ? { uid: 65_534, env: { HOME: folder } } : {});
    expect(sentenceOf(end)).toMatch(
      /this user has no permission\. Run: sudo usermod -aG \w+ "\$USER".*no output was touched/,
    );
    expect(end.code).toBe(5);
  });

  it("a port in use: 5, and by whom", async ({ expect }) => {
    const rig = await bench({ scenario: "single-feed", transport: "pty" });
    const holder = startProgram(["serve", ...rig.args.slice(0, 4), "--data", `${rig.folder.path}/holder`, "--json"]);
    await holder.until("out", /"url"/);
    // What it says first is where its page is; the port it opens afterwards.
    await untilTrue(() => rig.simulation.history().some((each) => each.kind === "command"));
    const end = await rig.powerup("--json").ended;
    expect(sentenceOf(end)).toMatch(/process \d+: ".*" has it open; end that first/);
    expect(end.code).toBe(5);
    expect(timesOn(rig.simulation)).toBe(0);
  });

  it("nothing answers: 5, within its time", async ({ expect }) => {
    const far = await farEnd("socket");
    const end = await runProgram(await powerupAt(far.address));
    expect(sentenceOf(end)).toMatch(/"psu".*no reply to "\*IDN\?" at TCPIP0::127/);
    expect(end.code).toBe(5);
    expect(far.heard()).not.toMatch(/OUTP|VOLT|CURR/);
  });

  it("connection refused: 5, with the usual port", async ({ expect }) => {
    // Port 9 (discard, RFC 863) of this machine: nobody listens there.
    const end = await runProgram(await powerupAt("TCPIP0::127.0.0.1::9::SOCKET"));
    expect(sentenceOf(end)).toMatch(/"127\.0\.0\.1" port 9: the connection was refused.*5025/);
    expect(end.code).toBe(5);
  });

  it("a connection closed at once: 5", async ({ expect }) => {
    const server = createServer((socket) => socket.destroy());
    await new Promise<void>((resolve) => server.listen(0, "127.0.0.1", resolve));
    const { port } = server.address() as AddressInfo;
    const end = await runProgram(await powerupAt(`TCPIP0::127.0.0.1::${port}::SOCKET`));
    server.close();
    expect(sentenceOf(end)).toContain('"psu"');
    expect(end.code).toBe(5);
  });

  it("a wrong baud rate, which answers junk: 5, and what to look at", async ({ expect }) => {
    const far = await farEnd("pty");
    // What a line at another speed looks like from here: framing errors and bytes out of nowhere, now and then a line end.
    far.answer(() => "\u0000\u00f8\u0086\u001e\u00e0\u0098\u0000\u00ff\n");
    const end = await runProgram(await powerupAt(far.address, { serial: { baudRate: 115_200 } }));
    expect(sentenceOf(end)).toMatch(/"psu".*baud/i);
    expect(end.code).toBe(5);
  });
});

describe("a bench that does not fit", () => {
  it("drivers beside the bench file that nobody names are not taken, whatever they claim", async () => {
    const rig = await bench({ scenario: "single-feed" });
    const driver = JSON.parse(await readFile(new URL("../../drivers/numbered-supply.json", import.meta.url), "utf8"));
    for (const name of ["our-supply", "their-supply"]) {
      await rig.folder.write(`${name}.json`, { ...driver, name, identity: { model: "^SIM-" } });
    }
    const end = await endedInTime(() => rig.powerup("--json", "--verbose").ended);
    expect(end.err).toMatch(/numbered-supply/);
    expect(end.err).not.toMatch(/our-supply|their-supply/);
    expect(end.code).toBe(0);
  });

  it("another instrument than the one pinned: 2, with both serial numbers", async () => {
    const rig = await bench({ scenario: "single-feed" });
    const psu = rig.simulation.benchFile.instruments["psu"];
    const file = {
      ...rig.simulation.benchFile,
      instruments: { ...rig.simulation.benchFile.instruments, psu: { ...psu, serialNumber: "SN7" } },
    };
    const end = await rig.powerup("--bench", await rig.folder.write("pinned.json", file), "--json").ended;
    expect(sentenceOf(end)).toMatch(/"SN1" answers.*requires "SN7"/);
    expect(end.code).toBe(2);
    expect(timesOn(rig.simulation)).toBe(0);
  });

  it("an output found on is cut before the next instrument is asked, also where that one does not answer: 5", async () => {
    const rig = await bench({ scenario: "single-feed" });
    rig.simulation.misbehave.frontPanel("in12", { output: "on", volts: 1, limitAmps: 0.2 });
    rig.simulation.misbehave.stall("dmm", true);
    const end = await rig.powerup("--json").ended;
    expect(sentenceOf(end)).toMatch(/"dmm".*no reply to/);
    expect(end.code).toBe(5);
    expect(isOn(rig.simulation)).toBe(false);
  });

  it("a supply that only another board needs and that is not there: said, and the run goes on; needed, it is 5", async () => {
    const rig = await bench({ scenario: "single-feed" });
    const { instruments, feeds } = rig.simulation.benchFile;
    // Port 9 (discard, RFC 863) of this machine: nobody listens there.
    const absent = { kind: "supply", address: "TCPIP0::127.0.0.1::9::SOCKET", driver: "numbered-supply", accuracy: {} };
    const file = {
      ...rig.simulation.benchFile,
      instruments: { ...instruments, other: absent },
      feeds: { ...feeds, elsewhere: { supply: "other", channel: 1 } },
    };
    const path = await rig.folder.write("two-supplies.json", file);
    const end = await endedInTime(() => rig.powerup("--bench", path, "--json").ended);
    expect(end.err).toMatch(/elsewhere is not watched, and a cut does not reach it: its supply other did not answer/);
    expect(end.err).not.toMatch(/elsewhere of the bench is not a feed of this board and stays off/);
    expect(end.code).toBe(0);
    const board = rig.simulation.boardFile;
    const needs = { ...board, feeds: { ...board?.feeds, elsewhere: { order: 9, nominalVolts: 5 } } };
    const boardPath = await rig.folder.write("needs.json", needs);
    const refused = await rig.powerup("--bench", path, "--board", boardPath, "--json").ended;
    expect(refused.code).toBe(5);
  });

  it("a data directory in use: 2, by whom; one that may not be written: 2", async () => {
    const rig = await bench({ scenario: "single-feed" });
    const holder = startProgram(["serve", "--data", `${rig.folder.path}/data`, "--json"]);
    await holder.until("out", /"url"/);
    const end = await rig.powerup("--json").ended;
    expect(sentenceOf(end)).toMatch(
      new RegExp(`process ${holder.child.pid} \\("firstamp serve .*end that first, or give another folder with --data`),
    );
    expect(end.code).toBe(2);

    const isRoot = process.getuid?.() === 0;
    await chmod(rig.folder.path, 0o555);
    const refused = await runProgram(
      ["powerup", ...rig.args, "--data", `${rig.folder.path}/mine`, "--json"],
      isRoot ? { uid: 65_534 } : {},
    );
    await chmod(rig.folder.path, 0o755);
    expect(sentenceOf(refused)).toMatch(
      /mine for the record: it cannot be written \(EACCES\); choose a folder of your own/,
    );
    expect(refused.code).toBe(2);
    expect(timesOn(rig.simulation)).toBe(0);
  });

  it("is all tried on a program that is there", async () => {
    expect((await readFile(PROGRAM, "utf8")).startsWith("#!/usr/bin/env node")).toBe(true);
  });
});

describe("serve", () => {
  it("a port that another program has: 2, and the program ends", async () => {
    const server = createServer(() => {});
    await new Promise<void>((resolve) => server.listen(0, "127.0.0.1", resolve));
    const { port } = server.address() as AddressInfo;
    const folder = await testFolder();
    folders.push(folder);
    const end = await runProgram(["serve", "--data", `${folder.path}/data`, "--port", String(port), "--json"]);
    server.close();
    expect(sentenceOf(end)).toMatch(new RegExp(`Cannot listen on 127.0.0.1 port ${port}: another program has it`));
    expect(end.code).toBe(2);
  });
});

describe("classify", () => {
  it("a missing column, text in a number, a folder, no file: 2 with file, line and column, the good file judged still", async () => {
    const folder = await testFolder();
    folders.push(folder);
    const files = [
      await folder.write("no-column.csv", "time_s,volts\n0,12\n"),
      await folder.write("text.csv", "time_s,volts,amps\n0,12,0.1\n0.1,twelve,0.1\n"),
      await folder.write("empty.csv", ""),
      folder.path,
      `${folder.path}/not-there.csv`,
      await folder.write(
        "good.csv",
        `time_s,volts,amps\n${Array.from({ length: 100 }, (_, i) => `${i / 10},12,0.001`).join("\n")}\n`,
      ),
    ];
    const end = await runProgram(["classify", ...files, "--json"]);
    expect(end.code).toBe(2);
    const lines = end.out
      .trimEnd()
      .split("\n")
      .map((line) => JSON.parse(line));
    expect(lines.map((each) => each.file)).toEqual(files);
    expect(lines[0].error).toMatch(/no-column\.csv": line 1 has no column "amps"/);
    expect(lines[1].error).toMatch(/text\.csv": line 3 column volts is "twelve"; it should be a number/);
    expect(lines[2].error).toMatch(/empty\.csv": it is empty/);
    expect(lines[3].error).toMatch(/folder/);
    expect(lines[4].error).toMatch(/the file does not exist/);
    expect(lines[5].class).toBeTypeOf("string");
    expect(end.err).not.toMatch(/\n {4}at /);
  });
});
