import { writeFileSync } from "node:fs";
import { join } from "node:path";
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { numberIn } from "../../src/capture/number-text.ts";
import { readStartCsv } from "../../src/capture/read-start-csv.ts";
import { withFolder } from "../job/sample-job.ts";

const known = new Set(["core", "5v", "reset"]);
const bytesOf = (text: string): Uint8Array => new TextEncoder().encode(text);
const read = (text: string, names: Record<string, string> = {}) =>
  withFolder(async (dir) => {
    const file = join(dir, "trace.csv");
    writeFileSync(file, text);
    const { atMs, columns, ignored } = await readStartCsv(file, { known, names });
    return {
      atMs: [...atMs],
      columns: Object.fromEntries([...columns].map(([name, each]) => [name, [...each]])),
      ignored,
    };
  });

describe("a number of bytes", () => {
  test("is the double that Number() gives, for every text of a number", () => {
    fc.assert(
      fc.property(fc.double({ noNaN: true, noDefaultInfinity: true }), (value) => {
        for (const text of [String(value), value.toExponential(), value.toFixed(6)])
          expect(numberIn(bytesOf(text), 0, text.length)).toBe(Number(text));
      }),
    );
  });
  test.each(["", "-", ".", "e5", "1e", "1e+", "OL", "1.2.3", "0x10", "12 V"])("%j is none", (text) => {
    expect(numberIn(bytesOf(text), 0, text.length)).toBeNaN();
  });
});

test("columns are found by name, units and settings lines of an oscilloscope are taken", async () => {
  const found = await read(
    "Model,none\nPoints,3\n\ntime (ms),core (mV),CH2,aux\n,mV,V,V\n0,0,0,1\n1,400,2.5,1\n2,850,5.0,1\n",
    { CH2: "5v" },
  );
  expect(found).toEqual({
    atMs: [0, 1, 2],
    columns: { core: [0, 0.4, 0.85], "5v": [0, 2.5, 5] },
    ignored: ["aux"],
  });
});

test("decimal commas are taken where ; is between the columns, and a row may end in one", async () => {
  const found = await read("time_s;core;\n0,000;0,0;\n0,001;0,85;\n0,002;0,85;\n");
  expect(found.atMs).toEqual([0, 1, 2]);
  expect(found.columns["core"]).toEqual([0, 0.85, 0.85]);
});

test("no reading stays none", async () => {
  const { columns } = await read("time_s,core\n0,OL\n1,9.9E37\n2,0.8\n");
  expect(columns["core"]).toEqual([Number.NaN, Number.NaN, 0.8]);
});

test.each([
  ["time_s,other\n0,1\n", /no line names a time column and one of core, 5v, reset/],
  ["time_s,core\n0,1\n1\n", /line 3 has 1 columns; it should have 2/],
  ["time_s,core\n0,1\n2,1\n1,1\n", /line 4 goes back in time/],
  ["time_s,core\n0,1\nx,1\n", /line 3 has no number for its time/],
  ["time_s,core,core\n0,1,1\n", /has the column "core" twice/],
  ["time_s,core\n0,1\n", /rows of numbers; there should be at least three/],
  ["", /no line names a time column/],
])("%j is refused with its line", async (text, words) => {
  await expect(read(text)).rejects.toThrow(words);
});
