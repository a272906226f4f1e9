import { mkdir, writeFile } from "node:fs/promises";
import path from "node:path";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { type PoweredBench, poweredBench } from "./powered-bench.ts";
import { endPrograms, runProgram } from "./run-program.ts";

/**
 * What a terminal obeys: a title (OSC, ECMA-48 8.3.89), a cleared screen (CSI 2 J, 8.3.39), the same by C1 bytes, a bell, a NUL, a
 * carriage return, DEL, and marks that turn the direction of text (UAX #9).
 */
const EVIL = "\u001b]0;owned\u0007\u001b[2J\u009b2J\u0000\r\u007f\u202eedoc\u2066\u200f";
/** The same as an argument or a file's name, which cannot hold a NUL. */
const EVIL_ARGUMENT = EVIL.replaceAll("\u0000", "");

let rig: PoweredBench;
beforeAll(async () => {
  rig = await poweredBench({ scenario: "single-feed" });
});
afterAll(async () => {
  await endPrograms();
  await rig.close();
});

/** Bytes and characters that must not come out; a line end, a tab and our own tone are none of them. */
function obeyed(text: string): string[] {
  const found: string[] = [];
  for (const character of text.replaceAll("\r\n", "\n")) {
    const code = character.codePointAt(0) ?? 0;
    const isControl = (code < 0x20 && character !== "\n" && character !== "\t") || (code >= 0x7f && code < 0xa0);
    const isMark = /[\u061c\u200b-\u200f\u2028-\u202e\u2060-\u206f\ufeff]/.test(character);
    if (isControl || isMark) found.push(code.toString(16));
  }
  return found;
}

const board = (name: string, more: object = {}): object => ({ ...rig.simulation.boardFile, name, ...more });
const at = (name: string): string => path.join(rig.folder.path, name);

describe("no command writes what a terminal obeys", { timeout: 120_000 }, () => {
  it("powerup of a board with such a name, to its end", async () => {
    await rig.folder.write("evil-board.json", board(EVIL));
    for (const more of [["--yes"], ["--json"]]) {
      const { out, err } = await rig.powerup("--board", at("evil-board.json"), ...more).ended;
      expect(out).toContain(more[0] === "--yes" ? "owned" : '"board"');
      expect(obeyed(out + err)).toEqual([]);
    }
  });

  it("classify, with such a feed in the capture and such a file name", async () => {
    const rows = Array.from({ length: 50 }, (_, row) => `${row / 10},12,0.5,"${EVIL.replaceAll("\r", "")}"`);
    const file = at(`capture${EVIL_ARGUMENT}.csv`);
    await writeFile(file, `time_s,volts,amps,feed\n${rows.join("\n")}\n`);
    for (const args of [
      ["classify", file],
      ["classify", file, "--json"],
      ["classify", `${file}.not-there`],
    ]) {
      const { out, err } = await runProgram(args);
      expect(out + err).toContain("capture");
      expect(obeyed(out + err)).toEqual([]);
    }
  });

  it.each([
    ["a key of the bench file", { [EVIL]: 1, version: 1, instruments: {}, feeds: {} }],
    ["an instrument's name", { version: 1, instruments: { [EVIL]: { kind: "supply", address: "x" } }, feeds: {} }],
    [
      "an address",
      { version: 1, instruments: { psu: { kind: "supply", address: EVIL } }, feeds: { aux: { supply: "psu" } } },
    ],
    [
      "a driver's name",
      {
        version: 1,
        instruments: { psu: { kind: "supply", address: "TCPIP0::127.0.0.1::9::SOCKET", driver: EVIL } },
        feeds: { aux: { supply: "psu" } },
      },
    ],
    ["broken JSON", `{"version": ${EVIL}`],
    ["a text that is no JSON", EVIL],
  ])("%s", async (_, content) => {
    const file = await rig.folder.write("evil.json", content);
    for (const command of [
      ["powerup", "--json"],
      ["sweep", "--cold"],
      ["find", "--only"],
      ["serve"],
      ["soak", "--json"],
      ["lead-ohms", "--feed", "aux", "--joined"],
      ["null-leads"],
      ["use"],
    ]) {
      const given = command[0] === "use" ? [file] : ["--bench", file];
      const { out, err, code } = await runProgram([...command, ...given, "--data", at("names-data")]);
      // An address or a driver that is not there is found once a command opens it; "use" opens nothing.
      if (command[0] !== "use") expect(code).not.toBe(0);
      expect(obeyed(out + err)).toEqual([]);
    }
  });

  it.each([
    ["an option", ["powerup", `--${EVIL_ARGUMENT}`]],
    ["a command", [EVIL_ARGUMENT]],
    ["a point", ["powerup", "--bench", "x", "--ohms", `${EVIL_ARGUMENT}=5`]],
    ["a scenario", ["simulate", "--scenario", EVIL_ARGUMENT]],
    ["a file", ["diagnose", "--board", EVIL_ARGUMENT, "readings.json"]],
    ["an archive", ["job", "import", EVIL_ARGUMENT]],
    ["a job", ["job", "show", EVIL_ARGUMENT]],
    ["a kind of board", ["board", "export", EVIL_ARGUMENT, "--out", "x.zip", "--shop", "east"]],
    ["a shop's name", ["board", "export", "Wren W1", "--out", "x.zip", "--shop", EVIL_ARGUMENT]],
    ["another shop's file", ["board", "import", EVIL_ARGUMENT]],
    ["what is to be forgotten of a board", ["board", "forget", EVIL_ARGUMENT]],
    ["a file to remember", ["use", EVIL_ARGUMENT]],
    ["a job to remember", ["use", "--job", EVIL_ARGUMENT]],
    ["what is to be forgotten", ["use", "--forget", EVIL_ARGUMENT]],
    ["a feed with joined leads", ["lead-ohms", "--bench", "x", "--joined", "--feed", EVIL_ARGUMENT]],
    ["a bench whose leads are nulled", ["null-leads", "--bench", EVIL_ARGUMENT]],
    ["a database", ["shop", "init", "--record", EVIL_ARGUMENT]],
    ["a bench of a shop", ["shop", "init", "--record", "postgresql://x", "--bench", EVIL_ARGUMENT]],
    ["a host's folder", ["host-look", "--sysfs", EVIL_ARGUMENT]],
  ])("%s that is refused", async (_, args) => {
    const { out, err, code } = await runProgram(args, { env: { FIRSTAMP_DATA: at("names-data") } });
    expect(code).not.toBe(0);
    expect(obeyed(out + err)).toEqual([]);
  });

  it("the record, with such a title, note and board", async () => {
    const env = { FIRSTAMP_DATA: at("record") };
    const words = EVIL_ARGUMENT;
    const { out: job } = await runProgram(["job", "new", "--title", words, "--board", words], { env });
    const id = job.trim();
    expect(id).toMatch(/^[0-9a-f-]{36}$/);
    await runProgram(["job", "note", id, words], { env });
    for (const args of [
      ["list"],
      ["list", "--json"],
      ["list", "--csv"],
      ["show", id],
      ["show", id, "--json"],
      ["check"],
      ["compare", id, id],
    ]) {
      const { out, err } = await runProgram(["job", ...args], { env });
      expect(obeyed(out + err), args.join(" ")).toEqual([]);
    }
  });

  it("what shops tell each other of a board with such a name", async () => {
    await rig.folder.write("shop-board.json", board(EVIL_ARGUMENT));
    const run = async (...args: string[]) => {
      const { out, err, code } = await runProgram(["board", ...args, "--data", at("knowledge")]);
      expect(obeyed(out + err), args[0]).toEqual([]);
      expect(code, `${args.join(" ")}: ${err}`).toBe(0);
      return out + err;
    };
    const file = at(`board${EVIL_ARGUMENT}.zip`);
    await runProgram(["job", "new", "--title", "a board", "--data", at("knowledge")]);
    await run("export", EVIL_ARGUMENT, "--board", at("shop-board.json"), "--shop", "east", "--out", file);
    expect(await run("import", file)).toContain("owned");
    await run("import", file, "--yes");
    expect(await run("list")).toContain("owned");
    const [{ id }] = JSON.parse(await run("list", "--json")).boards;
    expect(await run("forget", id)).toContain("owned");
  });

  it("what is remembered, with such a name of a file", async () => {
    const file = at(`remembered${EVIL_ARGUMENT}.json`);
    await writeFile(file, JSON.stringify(board("Wren W1")));
    const env = { FIRSTAMP_DATA: at("remembered") };
    for (const args of [
      ["use", file],
      ["use"],
      ["use", "--json"],
      ["diagnose", at("no-readings.json")],
      ["use", "--forget", "board"],
    ]) {
      const { out, err } = await runProgram(args, { env });
      expect(out + err, args[0]).toContain(args.includes("--forget") ? "Nothing is set" : "remembered");
      expect(obeyed(out + err), args.join(" ")).toEqual([]);
    }
  });

  it("who owns the data directory, as it named itself", async () => {
    const dir = at("owned");
    await mkdir(dir, { mode: 0o700 });
    const { takeDataLock } = await import("../../src/job/store/data-lock.ts");
    const lock = takeDataLock(dir, EVIL);
    const { out, err, code } = await runProgram(["job", "new", "--data", dir]);
    lock.release();
    expect(code).toBe(2);
    expect(err).toContain("owned");
    expect(obeyed(out + err)).toEqual([]);
  });
});
