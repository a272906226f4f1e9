import type { WireAttached, WireFoundJobs, WireJobSheet, WireStoredRun } from "../../shared/wire-job.ts";
import type { PageJobs } from "../../src/wire/job-desk.ts";
import { exampleOutcome, exampleVerdict, watchedRun, watchedTrace } from "./example-run.ts";

const PHOTO = "ab".repeat(32);

/** A job with everything in it that the page shows: two runs, a note, a photograph, a repair. */
export function exampleSheet(job: string): WireJobSheet {
  const event = (seq: number, kind: string, text: string): WireJobSheet["events"][number] => ({
    id: `event-${seq}`,
    seq,
    at: `2026-11-25T09:${String(10 + seq)}:00.000Z`,
    kind,
    text,
    file: null,
    correctable: kind === "note",
  });
  const run = (id: string, hour: string): WireJobSheet["runs"][number] => ({
    run: id,
    capture: `capture-${id}`,
    purpose: "powerup",
    startedAt: `2026-11-25T${hour}:00:00.000Z`,
    outcome: exampleOutcome(),
    verdict: exampleVerdict(),
    energyJoules: 8.4,
  });
  return {
    id: job,
    short: job.slice(-8),
    title: "Kestrel K2, no picture",
    board: "Kestrel K2",
    createdAt: "2026-11-25T09:10:00.000Z",
    cold: {
      aux: { ohms: 12_400, at: "2026-11-25T09:13:00.000Z", expired: null },
      "core:aux": { ohms: "open", at: "2026-11-25T09:13:00.000Z", expired: "a repair was done after it" },
    },
    events: [
      event(1, "opened", "Kestrel K2, no picture"),
      event(2, "intake", "Symptom: no picture\nLiquid: yes"),
      event(3, "cold-readings", "aux 12.4 kΩ, aux:core open, typed in by hand"),
      event(4, "note", "smells burnt at Q12"),
      {
        ...event(5, "attachment", "front.png (image/png, 70 bytes)"),
        file: { sha256: PHOTO, name: "front.png", mediaType: "image/png", bytes: 70, caption: "as it came in" },
      },
      event(6, "run-started", "Power-up of slot3v3, slot12, aux"),
      event(7, "run-ended", "ended as planned, output off, standby only"),
      event(8, "repair", "Q12 replaced\nQ12 by the choke (donor)"),
    ],
    runs: [run("0193f5a2-0000-7000-8000-000000000001", "10"), run("0193f5a2-0000-7000-8000-000000000002", "11")],
  };
}

/** A record that always has that job, and remembers what was filed in it. */
export class ScriptedDesk implements PageJobs {
  readonly filed: unknown[] = [];
  /** Where each event went. */
  readonly into: string[] = [];
  /** Jobs of another title than the example's. */
  readonly titles = new Map<string, string>();

  sheet = async (job: string): Promise<WireJobSheet> => {
    const sheet = exampleSheet(job);
    return { ...sheet, title: this.titles.get(job) ?? sheet.title };
  };

  run = async (): Promise<WireStoredRun> => ({
    run: { ...watchedRun(), outcome: exampleOutcome() },
    trace: [{ feed: "aux", readings: watchedTrace() }],
  });

  points: PageJobs["points"] = async () => null;

  csv: PageJobs["csv"] = async () => ReadableStream.from(["time_s,volts,amps\r\n", "0,0.9,0.001\r\n"]);

  /** What is found, whatever is looked for. */
  found: WireFoundJobs["jobs"] = [];
  readonly lookedFor: unknown[] = [];
  find: PageJobs["find"] = async (query) => {
    this.lookedFor.push(query);
    return { jobs: this.found, more: false };
  };

  picture: PageJobs["picture"] = async () => null;

  diagnosis: PageJobs["diagnosis"] = async () => null;

  archive: PageJobs["archive"] = async () => null;

  compare: PageJobs["compare"] = async (a, b) => {
    const side = (capture: string) => ({ job: "job", run: capture, capture, startedAt: "2026-11-25T10:00:00.000Z" });
    const difference = { a: 0.046, b: 0.82, difference: 0.774, expanded: 0.006 };
    return {
      a: side(a),
      b: side(b),
      classes: { a: "standby-only", b: "core-alive", same: false },
      figures: [{ figure: "plateauAmps", ...difference, beyondMeterError: "yes" }],
      notAlike: ["fans: off before, on after"],
    };
  };

  newJob: PageJobs["newJob"] = async (title) => {
    this.filed.push({ opened: title });
    return "0193f5a2-7c11-7a44-9d1e-5a6b7c8d9e99";
  };

  file: PageJobs["file"] = async (job, event) => {
    this.into.push(job);
    return this.filed.push(event) > 0;
  };

  state: PageJobs["state"] = async () => "open";

  photograph: PageJobs["photograph"] = async (_job, bytes, of) => {
    let count = 0;
    for await (const piece of bytes) count += piece.length;
    this.filed.push({ ...of, bytes: count });
    return "filed";
  };

  /** The daemon's answer to the next file. */
  shows: WireAttached = { filed: true, found: null, notes: [] };
  attach: PageJobs["attach"] = async (_job, bytes, of) => {
    this.filed.push({ ...of, bytes: bytes.length });
    return this.shows;
  };

  report = async () => ({ name: "report-5a6b7c8d.html", html: "<!doctype html><title>report</title>" });
}
