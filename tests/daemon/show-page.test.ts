import { readFileSync } from "node:fs";
import { expect, test } from "vitest";
import type { RunProgress } from "../../shared/ipc.ts";
import type { PlanEvent } from "../../shared/plan.ts";
import { RunHeader } from "../../shared/record/run-record.ts";
import type { WireDown } from "../../shared/wire.ts";
import { PageShow } from "../../src/daemon/page/show-page.ts";

const sample = JSON.parse(readFileSync(new URL("../job/sample-run.json", import.meta.url), "utf8"));
const RUN = "0193f5a2-0000-7000-8000-000000000001";
const header = RunHeader.parse({ ...sample.header, run: RUN, capture: RUN });

const reading = (atMs: number, amps: number): PlanEvent => ({
  event: "reading",
  atMs,
  reading: {
    ...{ feed: "aux", queriedAtMs: atMs - 2, atMs, mode: "cv", together: true },
    volts: { kind: "value", volts: 12 },
    amps: { kind: "value", amps },
  },
});
const waits: RunProgress = {
  ...{ stage: "watch", feed: "aux", waitingFor: "the draw to settle", sinceMs: 1000, expectedMs: 15_000 },
  energised: ["aux"],
  question: null,
};

test("a run is told again when more of it is new than the time it has waited; readings are told as they come", () => {
  const show = new PageShow();
  const heard: WireDown[] = [];
  show.began(header, "job-1");
  show.subscribe((message) => heard.push(message));
  const told = (): unknown[] =>
    heard
      .splice(0)
      .map((message) => (message.type === "run-state" ? [message.run.waitingFor, message.run.waitedMs] : message.type));

  show.progress([reading(1100, 0.5)], waits);
  expect(told()).toEqual(["frame", ["the draw to settle", 100]]);
  for (const atMs of [1150, 1200, 1250]) show.progress([reading(atMs, 0.6)], waits);
  expect(told()).toEqual(["frame", "frame", "frame"]);
  // A page that opens now is told how long it has waited by now.
  expect(show.snapshot().run).toMatchObject({ waitedMs: 250 });

  show.progress([reading(1300, 0.6)], { ...waits, waitingFor: "the probe" });
  expect(told()).toEqual(["frame", ["the probe", 300]]);
  show.progress([reading(1350, 0.6)], { ...waits, waitingFor: "the probe", sinceMs: 1340 });
  expect(told()).toEqual(["frame", ["the probe", 10]]);
});
