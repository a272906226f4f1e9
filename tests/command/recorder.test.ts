import { afterEach, expect, test } from "vitest";
import { Recording } from "../../shared/files/recorder-entry.ts";
import type { JobRecord } from "../../shared/record/job.ts";
import type { RunDocument } from "../../src/daemon/run/run-document.ts";
import { poweredBench } from "./powered-bench.ts";
import { endPrograms, runProgram } from "./run-program.ts";

afterEach(endPrograms);

const RECORD = Recording.parse({
  seconds: 0.4,
  channels: {
    1: { point: "in12", reads: "amps", voltsPerAmp: 0.1, rangeVolts: 2, accuracyShare: 0.01 },
    2: { point: "in12", reads: "volts", probe: 10, rangeVolts: 4 },
    3: { point: "5v", reads: "volts", rangeVolts: 16 },
  },
});

test("a power-up with a recorder: its peak is a value, its record and the start it shows are filed with the job", {
  timeout: 90_000,
}, async () => {
  const bench = await poweredBench({
    scenario: "single-feed",
    recorder: { dialect: "list-preamble", order: "low-first", record: RECORD },
  });
  try {
    const { code, out } = await bench.powerup("--json", "--waive", "a test").ended;
    expect(code).toBe(0);
    const document = JSON.parse(out) as RunDocument;
    expect(document.recorded).toMatchObject({ used: true, coversAll: true, instrument: "scope" });
    const truth = bench.simulation.truth().feeds["in12"]?.peakAmps ?? 0;
    const { features, uncertainty } = document;
    expect(Math.abs((features.peakAmps ?? 0) - truth)).toBeLessThan(uncertainty?.peakAmps ?? 0);
    const data = ["--data", `${bench.folder.path}/data`];
    const shown = await runProgram(["job", "show", document.job ?? "", ...data, "--json"]);
    const events = (JSON.parse(shown.out) as JobRecord).log.map((each) => each.event);
    const file = events.find((each) => each.kind === "attachment");
    expect(file).toMatchObject({ name: expect.stringMatching(/^recording-.*\.csv$/) });
    expect(events.find((each) => each.kind === "start-order")).toMatchObject({
      attachment: file?.kind === "attachment" ? file.sha256 : "",
      result: { order: ["in12", "5v"], problems: [] },
    });
    const started = events.find((each) => each.kind === "run-started");
    if (started?.kind !== "run-started") throw new Error("the run was filed");
    expect(started.header.instruments.map((each) => each.kind)).toContain("recorder");
  } finally {
    await bench.close();
  }
});

test("a recorder that hangs: the power-up ends as without it, and says so", { timeout: 90_000 }, async () => {
  const bench = await poweredBench({
    scenario: "single-feed",
    recorder: { dialect: "asked-preamble", record: RECORD },
  });
  try {
    const stalling = bench.simulation.misbehave.replies("scope", { at: [8] }, { fault: "drop" });
    const { code, out, err } = await bench.powerup("--json", "--waive", "a test").ended;
    stalling();
    expect(code).toBe(0);
    const document = JSON.parse(out) as RunDocument;
    expect(document).toMatchObject({ output: "off", ended: "as-planned" });
    expect(document.recorded).toBeUndefined();
    expect(err + document.warnings.join(" ")).toContain("scope");
  } finally {
    await bench.close();
  }
});
