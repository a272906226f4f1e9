import { execFileSync } from "node:child_process";
import { open, readFile, stat } from "node:fs/promises";
import path from "node:path";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { type Ended, endPrograms, runProgram, startProgram, type TestFolder, testFolder } from "./run-program.ts";

let folder: TestFolder;
beforeAll(async () => {
  folder = await testFolder();
});
afterAll(async () => {
  await endPrograms();
  await folder.remove();
});

const BENCH = {
  version: 1,
  instruments: { psu: { kind: "supply", address: "TCPIP0::127.0.0.1::9::SOCKET" } },
  feeds: { aux: { supply: "psu" } },
};
const board = (more: object): object => ({
  version: 1,
  name: "Kestrel K2",
  feeds: { aux: { nominalVolts: 12 } },
  ...more,
});

/** A cold sweep: it reads bench and board file, and would open the instruments only after both are checked. */
async function checked(files: { bench?: string | object; board?: string | object }): Promise<Ended> {
  const bench = await folder.write("bench.json", files.bench ?? BENCH);
  const file = await folder.write("board.json", files.board ?? board({}));
  return runProgram(["sweep", "--cold", "--bench", bench, "--board", file, "--data", `${folder.path}/data`, "--json"]);
}

const refused = ({ code, err }: Ended): void => {
  expect(err).toMatch(/nothing was (touched|written|energised)/);
  expect(err).not.toMatch(/^ {4}at /m);
  expect(code).toBe(2);
};

describe("a file a person writes", () => {
  it.each([
    [
      "a limit given twice",
      '{"aux":{"nominalVolts":12,"limitAmps":0.4,"firstAmps":0.4,"limitAmps":4}}',
      "feeds.aux.limitAmps appears twice",
    ],
    ["a feed given twice", '{"aux":{"nominalVolts":12},"aux":{"nominalVolts":5}}', "feeds.aux appears twice"],
  ])("with %s is refused, naming it", async (_, feeds, says) => {
    const ended = await checked({ board: `{"version":1,"name":"K","feeds":${feeds}}` });
    expect(ended.err).toContain(says);
    refused(ended);
  });

  it("with an address given twice is refused, naming it", async () => {
    const text = JSON.stringify(BENCH).replace('"address":', '"address":"TCPIP0::127.0.0.1::8::SOCKET","address":');
    const ended = await checked({ bench: text });
    expect(ended.err).toContain("instruments.psu.address appears twice");
    refused(ended);
  });

  it.each(["toString", "__proto__", "constructor", "feed:valueOf", "feed:__proto__"])(
    "that needs %s, which every object has, is refused, naming the rail",
    async (need) => {
      const ended = await checked({ board: board({ rails: { core: { volts: 1, needs: [need] } } }) });
      expect(ended.err).toContain(`rails.core.needs names ${JSON.stringify(need)}`);
      refused(ended);
    },
  );

  it("with a pair of what every object has is refused, naming the pair", async () => {
    const ended = await checked({ board: board({ coldPairs: { "aux:constructor": 100 } }) });
    expect(ended.err).toContain('coldPairs.aux:constructor names "constructor"');
    refused(ended);
  });

  it("is refused in words however deep or long it is", async () => {
    refused(await checked({ bench: `${"[".repeat(100_000)}${"]".repeat(100_000)}` }));
    const rails = Object.fromEntries(
      Array.from({ length: 20_000 }, (_, at) => [`r${at}`, { volts: 1, needs: at === 0 ? [] : [`r${at - 1}`] }]),
    );
    const ended = await checked({ board: board({ rails }) });
    expect(ended.err).toContain("at most 1000 entries");
    refused(ended);
  });

  it("does not fill the screen with what it holds", async () => {
    const long = await checked({
      bench: { ...BENCH, ["x".repeat(1_000_000)]: 1, ["y".repeat(500_000)]: "z".repeat(500_000) },
    });
    refused(long);
    for (const line of long.err.split("\n")) expect(line.length).toBeLessThan(4100);
  });
});

describe("what is no plain file is refused at once", () => {
  const fifo = (name: string): string => {
    const file = path.join(folder.path, name);
    execFileSync("mkfifo", [file]);
    return file;
  };

  it("a pipe as bench file, and as a driver beside it", async () => {
    const bench = fifo("pipe.json");
    refused(await runProgram(["powerup", "--bench", bench, "--data", `${folder.path}/data`, "--json"]));
    fifo("piped.json");
    const psu = { kind: "supply", address: "TCPIP0::127.0.0.1::9::SOCKET", driver: "piped" };
    refused(await checked({ bench: { ...BENCH, instruments: { psu } } }));
  });

  it("a pipe and a device as capture", async () => {
    for (const file of [fifo("pipe.csv"), "/dev/zero"]) {
      const { code, err } = await runProgram(["classify", file]);
      expect(err).toContain("not a plain file");
      expect(code).toBe(2);
    }
  });

  it("a pipe where off looks for what was left on: it says that it cannot tell", async () => {
    const run = path.join(folder.path, "off", "run");
    execFileSync("mkdir", ["-p", run]);
    execFileSync("mkfifo", [path.join(run, "arm-1.json")]);
    const { code } = await runProgram(["off", "--data", path.join(folder.path, "off")]);
    expect(code).toBe(4);
  });
});

describe("a capture that is none", () => {
  const HEADER = "time_s,volts,amps,feed\n";
  const classified = async (text: string): Promise<Ended> =>
    runProgram(["classify", await folder.write("capture.csv", text)]);

  it.each([
    [
      "of a thousand feeds",
      HEADER + Array.from({ length: 1000 }, (_, at) => `${at},12,0,f${at}\n`).join(""),
      /feed "f64"; the file already has 64 feeds/,
    ],
    ["with a cell of 100 KB", `${HEADER}0,12,0,${"x".repeat(100_000)}\n`, /line 2 has a cell of more than 64 KiB/],
    ["with a line of 2 MB", `${HEADER}0,12,0,${"x".repeat(2_000_000)}\n`, /a line is longer than 1 MB/],
    ["with a million columns", `${"c,".repeat(400_000)}c\n`, /and \d+ more/],
  ])("%s is refused in words", async (_, text, says) => {
    const { code, err } = await classified(text);
    expect(err).toMatch(says);
    expect(err.length).toBeLessThan(5000);
    expect(code).toBe(2);
  });

  it("of a gigabyte without a line end is refused without being kept", async () => {
    const file = await folder.write("sparse.csv", HEADER);
    const handle = await open(file, "r+");
    await handle.truncate(1_000_000_000);
    await handle.close();
    // ulimit -v would count what is only mapped; the heap is where a line would be kept.
    const { code, err } = await runProgram(["classify", file], { nodeArgs: ["--max-old-space-size=200"] });
    expect(err).toMatch(/a line is longer than 1 MB/);
    expect(code).toBe(2);
  });
});

describe("a data directory", () => {
  const mode = async (...parts: string[]): Promise<string> =>
    ((await stat(path.join(folder.path, ...parts))).mode & 0o777).toString(8);

  it("is this user's alone, and so is each file in it, whatever was there before", async () => {
    const dir = path.join(folder.path, "open");
    expect((await runProgram(["job", "new", "--data", dir])).code).toBe(0);
    execFileSync("chmod", ["-R", "a+rX", dir]);
    expect((await runProgram(["job", "new", "--data", dir])).code).toBe(0);
    expect(await mode("open")).toBe("700");
    for (const name of ["firstamp.db", "owner.lock"]) expect(await mode("open", name), name).toBe("600");
  });

  it.each([
    ["that everybody may write to", ["0777"], /every user of this machine may write to it/],
    ["that others may read and that holds other things", ["0755"], /holds other files/],
  ])("%s is refused with the command that mends it", async (_, [bits = ""], says) => {
    const dir = path.join(folder.path, `dir-${bits}`);
    execFileSync("mkdir", [dir]);
    execFileSync("touch", [path.join(dir, "something-else")]);
    execFileSync("chmod", [bits, dir]);
    const { code, err } = await runProgram(["job", "new", "--data", dir]);
    expect(err).toMatch(says);
    expect(err).toContain("chmod 700");
    expect(code).toBe(2);
  });

  it("that is damaged is told in words, with what to do", async () => {
    const dir = path.join(folder.path, "damaged");
    expect((await runProgram(["job", "new", "--data", dir, "--title", "first"])).code).toBe(0);
    expect((await runProgram(["job", "backup", "--data", dir, "--out", `${dir}-copy.db`])).code).toBe(0);
    expect((await runProgram(["job", "check", "--data", dir, "--json"])).out).toContain('"sound":true');
    const { openDatabase } = await import("../../src/job/database/sqlite-engine.ts");
    const file = openDatabase(path.join(dir, "firstamp.db"));
    file.exec("drop trigger job_event_no_update; update job_event set body = 'no json'");
    file.close();
    const shown = await runProgram(["job", "list", "--data", dir]);
    expect(shown.code).toBe(0);
    const check = await runProgram(["job", "check", "--data", dir, "--json"]);
    expect(JSON.parse(check.out)).toMatchObject({
      sound: false,
      problems: [expect.stringContaining("event 1: it cannot be read")],
    });
    expect(check.code).toBe(1);
    const again = openDatabase(path.join(dir, "firstamp.db"));
    again.exec("drop table job_event");
    again.close();
    for (const command of [
      ["job", "list"],
      ["job", "new"],
      ["job", "check"],
    ]) {
      const { code, err } = await runProgram([...command, "--data", dir]);
      expect(err, command.join(" ")).toMatch(/damaged|copy made by/);
      expect(err).not.toMatch(/^ {4}at /m);
      expect(code).toBe(2);
    }
    expect((await readFile(`${dir}-copy.db`)).subarray(0, 15).toString()).toBe("SQLite format 3");
  });
});

describe("serve comes up, says what it cannot keep, and ends", () => {
  it.each([
    ["a log folder that is a file", "touch log", /no log is written/],
    ["a log that is a folder", "mkdir -p log/daemon.jsonl", /no log is written/],
    ["a log that is a pipe", "mkdir log; mkfifo log/daemon.jsonl", /no log is written: .* not a plain file/],
    ["a run folder that is a file", "touch run", /run cannot be used/],
    ["an incident that is a pipe", "mkdir run; mkfifo run/incident-x.json", /Open this address in a browser/],
  ])("%s", async (title, make, says) => {
    const dir = path.join(folder.path, title.replaceAll(" ", "-"));
    expect((await runProgram(["job", "new", "--data", dir])).code).toBe(0);
    execFileSync("sh", ["-c", make], { cwd: dir });
    const program = startProgram(["serve", "--data", dir, "--json"]);
    await program.until("out", /"url"/);
    program.child.kill("SIGTERM");
    const { code, err } = await program.ended;
    expect(err).toMatch(says);
    expect(code).toBe(0);
  });

  it("a job whose first event is damaged does not keep it from starting", async () => {
    const dir = path.join(folder.path, "damaged-opened");
    expect((await runProgram(["job", "new", "--data", dir])).code).toBe(0);
    const { openDatabase } = await import("../../src/job/database/sqlite-engine.ts");
    const file = openDatabase(path.join(dir, "firstamp.db"));
    file.exec('drop trigger job_event_no_update; update job_event set body = \'{"kind":"opened"\'');
    file.close();
    const program = startProgram(["serve", "--data", dir, "--json"]);
    await program.until("out", /"url"/);
    program.child.kill("SIGTERM");
    expect((await program.ended).code).toBe(0);
  });
});
