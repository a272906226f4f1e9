import { readFile } from "node:fs/promises";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { ScenarioFile } from "../../shared/files/scenario-file.ts";
import { despiteBusyMachine, isOn, type PoweredBench, poweredBench, timesOn, wasTooSlow } from "./powered-bench.ts";
import { type Ended, endPrograms, startProgram } from "./run-program.ts";

let rig: PoweredBench;
beforeAll(async () => {
  rig = await poweredBench({ scenario: "single-feed" });
});
afterAll(async () => {
  await endPrograms();
  await rig.close();
});

const runOn = (bench: PoweredBench, command: string, ...more: string[]): Promise<Ended> =>
  startProgram([command, ...bench.args, ...more, "--json"]).ended;
const run = (command: string, ...more: string[]): Promise<Ended> => runOn(rig, command, ...more);

/** The lines on standard output; the last one is the document. */
const linesOf = ({ out }: Ended): Record<string, unknown>[] =>
  out
    .trim()
    .split("\n")
    .filter((line) => line !== "")
    .map((line) => JSON.parse(line) as Record<string, unknown>);

/** One whole run, again where the machine was too busy for it. */
const wholeOn = (bench: PoweredBench, command: string, ...more: string[]): Promise<Ended> =>
  despiteBusyMachine(
    () => runOn(bench, command, ...more),
    (end) => {
      const trip = (linesOf(end).at(-1)?.["trip"] ?? null) as { rule: string } | null;
      return wasTooSlow(trip, true) ? JSON.stringify(trip) : null;
    },
  );
const whole = (command: string, ...more: string[]): Promise<Ended> => wholeOn(rig, command, ...more);

describe("what cannot be done is refused before anything is on", () => {
  const injection = ["--rail", "in12", "--feed", "in12"];
  it.each([
    {
      title: "a soak beyond the longest on-time",
      args: ["soak", "--minutes", "600"],
      says: /maxOnSeconds is \d+ s.*36000 s/,
    },
    {
      title: "a margin run that would be held on",
      args: ["margin", "--keep-on"],
      says: /always ends with the output off/,
    },
    { title: "a margin run of a feed there is not", args: ["margin", "--feed", "nope"], says: /feed is nope/ },
    { title: "a rail to watch without a rail", args: ["margin", "--rail", "nope"], says: /nothing was touched/ },
    { title: "an injection without the side", args: ["inject", ...injection], says: /--side/ },
    {
      title: "a cap that would be raised",
      args: ["inject", ...injection, "--side", "none", "--cap", "1.2"],
      says: /a cap can only be lowered/,
    },
    {
      title: "a rail there is not",
      args: ["inject", "--rail", "x", "--feed", "in12", "--side", "none"],
      says: /rail is "x"/,
    },
  ])("$title", async ({ args, says }) => {
    const before = timesOn(rig.simulation);
    const [command = "", ...more] = args;
    const end = await run(command, ...more);
    expect(end.code, end.err).toBe(2);
    expect(end.err).toMatch(says);
    expect(timesOn(rig.simulation)).toBe(before);
  });
});

it("margin streams its steps and ends with one document, off", async () => {
  const end = await whole("margin", "--steps", "3");
  const lines = linesOf(end);
  const document = lines.at(-1) ?? {};
  expect(end.code, end.err).toBe(0);
  expect(lines.slice(0, -1).map((each) => each["event"])).toEqual(["step", "step", "step"]);
  expect(document["steps"]).toHaveLength(3);
  expect(document["exponent"]).toEqual(expect.any(Number));
  expect(document).toMatchObject({ output: "off", trip: null, job: expect.any(String) });
  expect(isOn(rig.simulation)).toBe(false);
});

it("margin watches every rail the scanner is wired to, at each step", async () => {
  const read = async (name: string): Promise<unknown> =>
    JSON.parse(await readFile(new URL(`../../scenarios/${name}`, import.meta.url), "utf8"));
  const single = (await read("single-feed.json")) as Record<string, unknown>;
  // The board's own rails: a converter holds them, whatever its input does within its tolerance.
  const scenario = ScenarioFile.parse({
    ...single,
    board: await read("boards/wren-w1.json"),
    rails: { ...(single["rails"] as object), "1v8": { from: "in12", fault: { fault: "off-level", volts: 1.4 } } },
    meter: { scanner: { "101": "5v", "102": "1v8", "103": "3v3" } },
  });
  const other = await poweredBench({ scenario });
  try {
    const end = await wholeOn(other, "margin", "--steps", "3");
    expect(end.code, end.err).toBe(0);
    const steps = linesOf(end).at(-1)?.["steps"] as {
      rails: Record<string, { volts: number | null; verdict: string }>;
    }[];
    expect(steps).toHaveLength(3);
    for (const { rails } of steps) {
      expect(rails["5v"]).toMatchObject({ volts: expect.closeTo(5.015, 2), verdict: "pass" });
      expect(rails["1v8"]).toMatchObject({ volts: expect.closeTo(1.4, 2), verdict: "fail" });
      expect(rails["3v3"]?.verdict).toBe("pass");
    }
    expect(isOn(other.simulation)).toBe(false);
  } finally {
    await other.close();
  }
});

it("soak ends with the verdict and the drift of each feed", async () => {
  const end = await whole("soak", "--minutes", "0.05");
  const [document = {}] = linesOf(end);
  expect(end.code, end.err).toBe(0);
  expect(document).toMatchObject({ output: "off", trip: null, class: expect.any(String) });
  expect(document["soak"]).toMatchObject({ askedSeconds: 3, feeds: { in12: { driftAmpsPerMin: expect.any(Number) } } });
});

it("inject into an input that takes no current says so at once, off, filed with the job", async () => {
  const end = await whole("inject", "--rail", "in12", "--feed", "in12", "--side", "none");
  const lines = linesOf(end);
  const document = lines.at(-1) ?? {};
  expect(end.code, end.err).toBe(0);
  expect(lines[0]).toMatchObject({ event: "level", limitAmps: 0.1, limited: false });
  expect(document).toMatchObject({ rail: "in12", cleared: false, output: "off", trip: null, job: expect.any(String) });
  expect(document["because"]).toEqual([expect.stringContaining("no current flows")]);
  expect(end.err).toContain("Do not touch the board");
  expect(rig.simulation.truth().feeds["in12"]?.output).toBe("off");
});
