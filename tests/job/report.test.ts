import { writeFileSync } from "node:fs";
import { join } from "node:path";
import fc from "fast-check";
import { expect, test } from "vitest";
import type { JobEvent, StoredEvent } from "../../shared/record/job.ts";
import type { SweepRail } from "../../shared/sweep.ts";
import { csvCell } from "../../src/job/report/csv-cell.ts";
import { html } from "../../src/job/report/html-text.ts";
import { makeReport } from "../../src/job/report/make-report.ts";
import { testedItems } from "../../src/job/report/tested-items.ts";
import { tracePicture } from "../../src/job/report/trace-picture.ts";
import { visibleText } from "../../src/job/report/visible-text.ts";
import { uuidV7 } from "../../src/job/store/uuid-v7.ts";
import { fileRun, sampleEnd, sampleHeader, sampleVerdict, withFolder, withStore } from "./sample-job.ts";

const EVIL = '<script>alert("1")</script> & \' \u001b[31m \u0000 \u202e';

test("a report of a job full of markup and control characters runs nothing and shows them as text", () =>
  withFolder((files) =>
    withStore(async (store) => {
      const job = await store.newJob({ title: EVIL, board: EVIL });
      await store.appendEvent(job, { kind: "intake", owner: EVIL, ownersWords: EVIL, serialNumber: EVIL });
      await store.appendEvent(job, { kind: "note", text: EVIL });
      await store.appendEvent(job, {
        kind: "repair",
        text: EVIL,
        parts: [{ name: EVIL, place: EVIL, source: "donor" }],
      });
      await store.appendEvent(job, { kind: "incident", text: EVIL, instrument: EVIL, run: null, output: "unknown" });
      const header = sampleHeader();
      header.instruments.forEach((each) => {
        each.identity = EVIL;
      });
      await fileRun(store, job, { header, verdict: sampleVerdict({ because: [EVIL] }) });
      const file = join(files, "x.svg");
      writeFileSync(file, '<svg xmlns="http://www.w3.org/2000/svg" onload="alert(1)"/>');
      await store.attach(job, file, { caption: EVIL });
      const report = await makeReport(store, job);
      expect(report).not.toMatch(/<script|onload="|<svg xmlns/i);
      // biome-ignore lint/suspicious/noControlCharactersInRegex: they must not be there
      expect(report).not.toMatch(/[\u0000-\u0008\u000b-\u001f\u007f-\u009f\u202e]/);
      expect(report.split("&lt;script&gt;alert(&quot;1&quot;)&lt;/script&gt; &amp; &#39;").length).toBeGreaterThan(10);
      expect(report).toContain("\u241b[31m");
      expect(report).not.toMatch(/(?:src|href)="(?!data:image\/)|url\(|@import|<link|<iframe|<object/);
      expect(report).toContain("default-src 'none'");
    }),
  ));

test("every value put into markup is escaped, whatever it is", () => {
  fc.assert(
    fc.property(fc.string({ unit: "binary" }), (text) => {
      const made = html`<p title="${text}">${[text]}</p>`.text;
      expect(made.replace(/^<p title="|">|<\/p>$/g, "")).not.toMatch(/[<>"']/);
    }),
  );
});

test("what is as found and as left is told apart, with the uncertainty and what was not alike", () =>
  withStore(async (store) => {
    const job = await store.newJob({ title: "Job 7", board: "Kestrel K2" });
    await fileRun(store, job, {
      header: sampleHeader({ startedAt: "2026-11-20T10:00:00.000Z" }),
      verdict: sampleVerdict({ class: "partly-up", plateauAmps: 0.3 }),
    });
    await store.appendEvent(job, {
      kind: "repair",
      text: "Replaced the 5 V converter.",
      parts: [{ name: "converter", place: "U12", source: "new" }],
    });
    await fileRun(store, job, { header: sampleHeader({ startedAt: "2026-11-25T10:00:00.000Z" }) });
    const report = await makeReport(store, job);
    expect(report).toContain("As found, 2026-11-20");
    expect(report).toContain("As left, 2026-11-25");
    // U = 2·√(((0.001·0.3 + 0.003)/√3)² + (0.001/√12)²) = 0.00385 A; JCGM 100:2008, 4.3.7.
    expect(report).toContain("300.0 mA ± 3.9 mA");
    expect(report).toContain("larger than the meter&#39;s error");
    expect(report).toContain("Replaced the 5 V converter.");
    expect(report).toContain("converter at U12: new");
    expect(report.match(/<svg/g)).toHaveLength(2);
    expect(report).toContain("All returns are joined (not said): single feed");
    expect(await makeReport(store, job)).toBe(report);
  }));

test("as found is the last sound run before the first repair, as left the last after the last one", () =>
  withStore(async (store) => {
    const job = await store.newJob({ title: "Job 8" });
    const on = async (day: string, changes: Parameters<typeof sampleEnd>[2], plateauAmps: number) => {
      const header = sampleHeader({ startedAt: `2026-11-${day}T10:00:00.000Z` });
      const end = sampleEnd(header, sampleVerdict({ class: "partly-up", plateauAmps }), changes);
      await store.appendEvent(job, { kind: "run-started", header });
      for (const [atMs, state] of [
        [1000, "on"],
        [42_000, "off"],
      ] as const)
        await store.appendEvent(job, {
          kind: "run-events",
          run: header.run,
          events: [{ event: "output", atMs, feed: "aux", state }],
        });
      await store.appendEvent(job, { kind: "run-ended", end });
    };
    const benchEnded = { outcome: { ...outcome, ended: "failed" as const } };
    const byHand = { outcome: { ...outcome, ended: "stopped-by-person" as const } };
    const repair = { kind: "repair" as const, text: "Changed a part.", parts: [] };
    await on("01", {}, 0.11);
    await on("02", {}, 0.22);
    await on("03", benchEnded, 0.33);
    await store.appendEvent(job, repair);
    await on("04", {}, 0.44);
    await store.appendEvent(job, repair);
    await on("05", {}, 0.55);
    await on("06", byHand, 0.66);
    await store.appendEvent(job, { kind: "result", result: "passed", text: "It starts." });
    const report = await makeReport(store, job);
    expect(report).toContain("As found, 2026-11-02");
    expect(report).toContain("As left, 2026-11-05");
    const [letter = "", appendix = ""] = report.split('<section class="appendix">');
    expect(letter).toContain("<td>41 s</td><td>41 s</td>");
    expect(letter).not.toMatch(/330 mA|660 mA/);
    // The owner sees first how it ended; nothing of the bench's own is in the letter.
    expect(letter.indexOf("Result: The board passed")).toBeLessThan(letter.indexOf("What was found"));
    expect(report).not.toMatch(/\{&quot;|ampsShare|SCHED_|emergency stop/);
    // One line a run, however many events it had.
    expect(appendix.match(/<td>run<\/td>/g)).toHaveLength(6);
    expect(appendix).not.toContain("events of the run");
    expect(appendix).toContain("on for 41 s: ended by the bench");
  }));

test("a long run is one of half an hour; a minute of it is no pass, and says how long it was", () => {
  const soak = (endMs: number) => {
    const header = sampleHeader({ purpose: "soak" });
    const end = { ...sampleEnd(header, sampleVerdict()), endedAtMs: endMs };
    return log(
      { kind: "run-started", header },
      {
        kind: "run-events",
        run: header.run,
        events: [
          { event: "output", atMs: 0, feed: "aux", state: "on" },
          { event: "output", atMs: endMs, feed: "aux", state: "off" },
        ],
      },
      { kind: "run-ended", end },
    );
  };
  const item = (endMs: number) => testedItems(soak(endMs)).find((each) => /Long run/.test(each.what));
  expect(item(60_000)).toMatchObject({ result: "conditional", because: expect.stringContaining("60 s") });
  expect(item(31 * 60_000)).toMatchObject({ result: "pass", because: expect.stringContaining("31 min") });
});

test("a job without a run promises nothing", () =>
  withStore(async (store) => {
    const report = await makeReport(store, await store.newJob());
    expect(report).toContain("Nothing can be said about the board under power");
    expect(report).not.toMatch(/class="result">(?!not tested)/);
  }));

test("a picture among the files is in the report itself", () =>
  withFolder((files) =>
    withStore(async (store) => {
      const job = await store.newJob();
      const png = Buffer.from("89504e470d0a1a0a0000000d49484452", "hex");
      writeFileSync(join(files, "board.png"), png);
      await store.attach(job, join(files, "board.png"), { caption: "front" });
      expect(await makeReport(store, job)).toContain(
        `<img src="data:image/png;base64,${png.toString("base64")}" alt="front">`,
      );
    }),
  ));

const log = (...events: StoredEvent["event"][]): StoredEvent[] =>
  events.map((event, index) => ({ id: uuidV7(), seq: index + 1, recordedAt: "2026-11-25T10:00:00.000Z", event }));
const run = (changes: Parameters<typeof sampleEnd>[2] = {}, verdict = sampleVerdict(), header = sampleHeader()) =>
  log({ kind: "run-started", header }, { kind: "run-ended", end: sampleEnd(header, verdict, changes) });
const outcome = sampleEnd(sampleHeader(), null).outcome;
const resultOf = (what: RegExp, events: StoredEvent[]) =>
  testedItems(events).find((item) => what.test(item.what))?.result;

test("nothing passes that was not run", () => {
  const everyWord = [...testedItems([]), ...testedItems(log({ kind: "run-started", header: sampleHeader() }))];
  expect(new Set(everyWord.map((item) => item.result))).toEqual(new Set(["not tested"]));
});

test.each([
  ["as-planned", {}, "pass"],
  ["as-planned after a raise", { raises: 1 }, "conditional"],
  ["board-stopped", { ended: "board-stopped" as const }, "fail"],
  ["failed by the bench", { ended: "failed" as const }, "not tested"],
  [
    "stopped by hand while watched",
    { ended: "stopped-by-person" as const, reachedStage: "watch" as const },
    "conditional",
  ],
  ["stopped by hand before", { ended: "stopped-by-person" as const, reachedStage: "touch" as const }, "not tested"],
])("a power-up %s is %j -> %s", (_what, changes, result) => {
  expect(resultOf(/^First power-up/, run({ outcome: { ...outcome, ...changes } }))).toBe(result);
});

test.each([
  ["normal", "pass"],
  ["core-alive", "conditional"],
  ["standby-only", "conditional"],
  ["cannot-tell", "conditional"],
  ["partly-up", "fail"],
  ["open-input", "fail"],
  ["dead-short", "fail"],
  ["overload", "fail"],
  ["retrying", "fail"],
  ["creeping", "fail"],
] as const)("a draw that is %s is %s", (drawClass, result) => {
  expect(resultOf(/^Current drawn/, run({}, sampleVerdict({ class: drawClass })))).toBe(result);
});

test("cold readings pass only against what a good board reads", () => {
  const board = {
    version: 1 as const,
    name: "Kestrel K2",
    feeds: { aux: { nominalVolts: 12, coldOhmsMin: 300 } },
    idleAmps: [],
    rails: { core: { volts: 0.85, coldOhms: [0.1, 5] as [number, number], needs: [] } },
    coldPairs: { "aux:core": 100 },
  };
  const judged = (ohms: Record<string, number | "open">) =>
    resultOf(/^Resistance/, [
      ...log({ kind: "cold-readings", ohms, by: "hand", boardCelsius: null }),
      ...run({}, sampleVerdict(), sampleHeader({ board })),
    ]);
  expect(judged({ aux: 12_400, core: 0.4, "aux:core": 3100 })).toBe("pass");
  expect(judged({ aux: 12_400, unknown: 7 })).toBe("conditional");
  expect(judged({ aux: 80 })).toBe("fail");
  expect(judged({ core: "open" })).toBe("fail");
  expect(judged({ aux: 12_400, "aux:core": "open" })).toBe("pass");
  // Behind a blown fuse an input reads open: it is not shorted, and nobody knows more.
  expect(judged({ aux: "open" })).toBe("conditional");
});

test("cold readings count as the board was left: point by point, after the last repair", () => {
  const cold = (ohms: Record<string, number>): JobEvent => ({
    kind: "cold-readings",
    ohms,
    by: "hand",
    boardCelsius: null,
  });
  const board = {
    version: 1 as const,
    name: "Kestrel K2",
    feeds: { aux: { nominalVolts: 12, coldOhmsMin: 300 }, slot12: { nominalVolts: 12, coldOhmsMin: 300 } },
    idleAmps: [],
    rails: {},
    coldPairs: {},
  };
  const judged = (...events: JobEvent[]) =>
    resultOf(/^Resistance/, [...log(...events), ...run({}, sampleVerdict(), sampleHeader({ board }))]);
  const repair: JobEvent = { kind: "repair", text: "replaced Q12", parts: [] };
  expect(judged(cold({ aux: 80 }), cold({ slot12: 9000 }))).toBe("fail");
  expect(judged(cold({ aux: 80 }), repair, cold({ aux: 9000 }))).toBe("pass");
  expect(judged(cold({ aux: 9000 }), repair)).toBe("not tested");
});

/** A sweep under power with these verdicts, each with what is said in its place. */
function sweepOf(rails: Record<string, { verdict: SweepRail["verdict"]; said?: string }>): JobEvent[] {
  const sweep = uuidV7();
  const setting = {
    function: "volts" as const,
    rangeUpTo: null,
    powerLineCycles: null,
    channel: null,
    leadNullOhms: null,
  };
  const started: JobEvent = {
    kind: "sweep-started",
    sweep,
    cold: false,
    board: "Kestrel K2",
    points: Object.keys(rails),
    meter: null,
  };
  const values = Object.entries(rails).map(
    ([rail, of]): JobEvent => ({
      kind: "sweep-rail",
      sweep,
      run: null,
      setting,
      corrects: null,
      rail: {
        rail,
        quantity: "volts",
        volts: 1,
        ...of,
        conformity: null,
        limits: [0.9, 1.1],
        because: [],
        how: "contact",
        polarity: "red-on-point",
        readings: 8,
        standardError: 0,
        moving: "no",
        tookMs: 500,
        questioned: null,
        corrects: false,
        neverPower: null,
      },
    }),
  );
  return [started, ...values];
}

test("rails count as tested only by a sweep after the last repair", () => {
  const repair: JobEvent = { kind: "repair", text: "replaced Q12", parts: [] };
  const good = sweepOf({ core: { verdict: "pass" }, "1v8": { verdict: "pass" } });
  expect(resultOf(/^Voltage of each rail/, log(...good))).toBe("pass");
  expect(resultOf(/^Voltage of each rail/, log(...good, repair))).toBe("not tested");
  expect(resultOf(/^Voltage of each rail/, log(...sweepOf({ core: { verdict: "fail" } }), repair, ...good))).toBe(
    "pass",
  );
});

test("a reset that nobody drives and a crystal's bias neither fail a board nor are said to be good", () => {
  const events = log(
    ...sweepOf({
      core: { verdict: "pass" },
      reset: { verdict: "not-measured", said: "cannot be judged" },
      clock: { verdict: "pass", said: "bias present" },
    }),
  );
  const item = testedItems(events).find((each) => /^Voltage of each rail/.test(each.what));
  expect(item).toMatchObject({ result: "pass" });
  expect(item?.because).toContain("cannot be judged as the board was powered: reset");
  expect(item?.because).toContain("only a bias was read, not whether it swings: clock");
});

test("a run that the bench ended does not hide the sound one before it", () => {
  const later = run({ outcome: { ...outcome, ended: "failed" } }, sampleVerdict());
  const events = [...run({}, sampleVerdict({ class: "normal" })), ...later];
  expect(resultOf(/^First power-up/, events)).toBe("pass");
  expect(resultOf(/^Current drawn/, events)).toBe("pass");
});

test("the picture of a long trace keeps its peak and breaks where readings are missing", () => {
  const atMs = Array.from({ length: 100_000 }, (_, index) => index);
  const amps = atMs.map((at) => (at === 50_003 ? 4 : at >= 70_000 && at < 80_000 ? Number.NaN : 1));
  const picture = tracePicture("x", [{ label: "aux", atMs, amps }], { mostAmps: 4, longestMs: 100_000 }).text;
  expect(picture.length).toBeLessThan(20_000);
  // The peak reaches the top of the picture (y = 6), the missing tenth lifts the pen once.
  expect(picture).toMatch(/V6\.0/);
  expect(picture.match(/[" ]?M\d+ \d+\.\d/g)).toHaveLength(2);
});

test.each([
  ["=1+1", `"'=1+1"`],
  ["+49", `"'+49"`],
  ["-cmd", `"'-cmd"`],
  ["@SUM(A1)", `"'@SUM(A1)"`],
  ["  =x", `"'  =x"`],
  ['"=x', `"'""=x"`],
  ["\t=x", `"'\t=x"`],
  ['say "hi", he said\r\n', `"say ""hi"", he said\r\n"`],
  ["plain", `"plain"`],
  [-0.012, `"-0.012"`],
])("the CSV cell of %j is %s", (value, cell) => {
  expect(csvCell(value)).toBe(cell);
});

test("no control character reaches a terminal, and line ends stay", () => {
  expect(visibleText("a\u001b[2Jb\u0007\u009b\u007f\r\n\tc\u202e\ud800")).toBe(
    "a\u241b[2Jb\u2407\\u009b\u2421\u240d\n\tc\\u202e\ufffd",
  );
});
