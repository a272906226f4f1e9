import { mkdtemp, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import fc from "fast-check";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { BenchError } from "../../shared/bench-error.ts";
import { type DrawTrace, UNNAMED_FEED } from "../../shared/draw-input.ts";
import { captureCsvParts } from "../../src/capture/csv-capture.ts";
import { shiftedDecimal } from "../../src/capture/decimal-shift.ts";
import { readCaptureCsv } from "../../src/capture/read-capture-csv.ts";
import { TraceColumns } from "../../src/capture/trace-columns.ts";
import { wholeCsv } from "./whole-csv.ts";

let folder = "";
let count = 0;
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), "captures-"));
});
afterAll(() => rm(folder, { recursive: true }));

async function reading(text: string): Promise<DrawTrace[]> {
  const file = join(folder, `${count++}.csv`);
  await writeFile(file, text);
  return readCaptureCsv(file);
}

async function first(text: string): Promise<DrawTrace> {
  const [trace] = await reading(text);
  if (trace === undefined) throw new Error("no trace");
  return trace;
}

const refusal = async (text: string): Promise<BenchError> => {
  const cause: unknown = await reading(text).catch((problem: unknown) => problem);
  if (!(cause instanceof BenchError)) throw new Error(`no refusal but ${String(cause)}`);
  expect(cause.code).toBe("bad-input");
  expect(cause.message).toContain(".csv");
  return cause;
};

describe("a foreign capture", () => {
  it("needs time_s, volts and amps in any order; other columns are ignored", async () => {
    const trace = await first("note,amps,time_s,volts\nhello,0.5,0.0123,12\n,0.6,1,12.1\n");
    expect(trace.feed).toBe(UNNAMED_FEED);
    expect([...trace.atMs]).toEqual([12.3, 1000]);
    expect([...trace.amps]).toEqual([0.5, 0.6]);
    expect([...trace.volts]).toEqual([12, 12.1]);
    expect(trace).toMatchObject({
      mode: null,
      stage: null,
      setVolts: null,
      limitAmps: null,
      leadOhms: null,
      together: true,
    });
  });
  it.each([
    ["time_ms,volts (mV),amps [mA]\n12.5,11990,250\n", [12.5, 11.99, 0.25]],
    ["Time (s),Volts,Amps_mA\n0.5,12,3\n", [500, 12, 0.003]],
    ["time_us,volts,amps_uA\n1500,3.3,40\n", [1.5, 3.3, 0.00004]],
  ])("has its units in the header: %j", async (text, [atMs, volts, amps]) => {
    const trace = await first(text);
    expect(trace.atMs[0]).toBe(atMs);
    expect(trace.volts[0]).toBe(volts);
    expect(trace.amps[0]).toBe(amps);
  });
  it("takes decimal commas where ; is between the columns", async () => {
    const trace = await first("time_s;volts;amps\n0,5;11,98;0,25\n");
    expect([trace.atMs[0], trace.volts[0], trace.amps[0]]).toEqual([500, 11.98, 0.25]);
  });
  it("takes tabs, quotes, CR LF, a byte order mark and empty lines", async () => {
    const trace = await first('\uFEFF"time_s"\t"volts"\t"amps"\r\n"0"\t"12"\t"1"\r\n\r\n1\t12\t1\r\n');
    expect(trace.atMs.length).toBe(2);
  });
  it.each(["OL", "ovld", "", "nan", "-", "9.9E37", "9.91e37", "-9.9E+37", "inf"])(
    "has no reading where it says %j",
    async (marker) => {
      const trace = await first(`time_s,volts,amps\n0,12,${marker}\n1,12,1\n`);
      expect(trace.amps[0]).toBeNaN();
      expect(trace.amps[1]).toBe(1);
    },
  );
});

describe("a capture that is not what it should be is refused with file, line, column, what is there and what should be", () => {
  it.each([
    ["time_s,volts\n0,1\n", /line 1 has no column "amps"; it has "time_s", "volts"/],
    ["seconds,u,i\n0,1,2\n", /no column "time_s" and "volts" and "amps"/],
    ["time_s,volts,amps\n0,12,1\n1,twelve,1\n", /line 3 column volts is "twelve"; it should be a number/],
    ["time_s,volts,amps\n0,12,1\n\nx,12,1\n", /line 4 column time is "x"/],
    ["time_s,volts,amps\n,12,1\n", /line 2 column time is ""/],
    ["time_s,volts,amps\n1,12,1\n0.5,12,1\n", /line 3 column time goes back from 1 s to 0.5 s/],
    ["time_s,volts,amps\n0,12\n", /line 2 has 2 columns; it should have 3/],
    ["time_s,volts,amps\n0,5,11,98,0,25\n", /decimal commas needs ;/],
    ["time_s,volts (kg),amps\n0,1,1\n", /column 2 is "volts \(kg\)"; the unit of volts should be one of/],
    ["time_s,volts,amps,stage\n0,12,1,soak\n", /column stage is "soak"; it should be one of check, touch/],
    ["time_s,volts,amps,mode\n0,12,1,dc\n", /column mode is "dc"; it should be cv, cc/],
    ["", /it is empty/],
    ["\n\n", /is empty/],
    ["time_s,volts,amps\n", /has a header but no reading/],
    ['time_s,volts,amps\n0,"12,1\n', /Cannot read capture/],
  ])("%j", async (text, says) => {
    expect((await refusal(text)).message).toMatch(says);
  });
  it("also where there is no such file", async () => {
    await expect(readCaptureCsv(join(folder, "none.csv"))).rejects.toThrow(/the file does not exist/);
  });
});

describe("captureCsvParts(), joined,", () => {
  it("begins with time_s, volts, amps and ends each line with CR LF (RFC 4180)", () => {
    const columns = new TraceColumns("aux");
    columns.push({ atMs: 12.3, volts: 0.9, amps: 0.0001, stage: "touch", setVolts: 0.9, limitAmps: 0.3, mode: "cv" });
    columns.push({ atMs: 24.6, volts: Number.NaN, amps: -0.012 });
    expect(wholeCsv([columns.trace()])).toBe(
      "time_s,volts,amps,feed,stage,set_volts,limit_amps,mode\r\n0.0123,0.9,0.0001,aux,touch,0.9,0.3,cv\r\n0.0246,,-0.012,aux,,,,\r\n",
    );
  });
  it("keeps a feed's name from being a formula and comes back with it", async () => {
    const columns = new TraceColumns('=1+1,"x"');
    columns.push({ atMs: 1, volts: 1, amps: 1 });
    const text = wholeCsv([columns.trace()]);
    expect(text).toContain(`"'=1+1,""x"""`);
    expect(await reading(text)).toEqual([columns.trace()]);
  });
  it("gives the same traces back, whatever doubles are in them", async () => {
    const figure = fc.double({ min: -100, max: 100, noNaN: true });
    const row = fc.record({
      gap: fc.double({ min: 0, max: 1000, noNaN: true }),
      volts: fc.oneof(figure, fc.constant(Number.NaN)),
      amps: figure,
      setVolts: fc.option(figure, { nil: undefined }),
      limitAmps: fc.option(figure, { nil: undefined }),
      mode: fc.constantFrom("cv", "cc", undefined),
      stage: fc.constantFrom("touch", "hold-low", "rise", "watch", undefined),
      feed: fc.constantFrom("aux", "slot12"),
    });
    const constants = fc.record({
      together: fc.boolean(),
      leadOhms: fc.option(fc.double({ min: 0, max: 1, noNaN: true })),
      stepVolts: fc.constantFrom(null, 0.001),
      stepAmps: fc.constantFrom(null, 0.01),
      accuracy: fc.constantFrom(null, { ampsShare: 0.001, ampsOffset: 0.002 }),
    });
    await fc.assert(
      fc.asyncProperty(fc.array(row, { minLength: 1, maxLength: 40 }), constants, async (rows, known) => {
        const feeds = new Map<string, TraceColumns>();
        let atMs = 0;
        for (const { gap, feed, setVolts, limitAmps, mode, stage, ...rest } of rows) {
          atMs += gap;
          const columns = feeds.get(feed) ?? new TraceColumns(feed);
          columns.constants = known;
          feeds.set(feed, columns);
          columns.push({
            atMs,
            ...rest,
            ...(setVolts === undefined ? {} : { setVolts }),
            ...(limitAmps === undefined ? {} : { limitAmps }),
            ...(mode === undefined ? {} : { mode }),
            ...(stage === undefined ? {} : { stage }),
          });
        }
        const traces = [...feeds.values()].map((columns) => columns.trace());
        expect(await reading([...captureCsvParts(traces)].join(""))).toEqual(traces);
      }),
      { numRuns: 60, seed: 3 },
    );
  });
});

describe("shiftedDecimal()", () => {
  it.each([
    ["12.3", -3, "0.0123"],
    ["0.0123", 3, "12.3"],
    ["1500", -3, "1.5"],
    ["-0.5", -3, "-0.0005"],
    ["1e-7", 3, "0.0001"],
    ["1.25E+2", -3, "0.125"],
    ["0", -3, "0"],
    [".5", 3, "500"],
  ])("%s by %i places is %s", (text, places, shifted) => {
    expect(shiftedDecimal(text, places)).toBe(shifted);
  });
  it("goes there and back to the same double", () => {
    fc.assert(
      fc.property(fc.double({ noNaN: true, noDefaultInfinity: true }), (value) => {
        const there = shiftedDecimal(String(value), -3);
        expect(Number(shiftedDecimal(there, 3))).toBe(value === 0 ? 0 : value);
      }),
      { numRuns: 500, seed: 11 },
    );
  });
});
