import { mkdtemp, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { classifyFiles } from "../../src/command/input/classify-files.ts";

/** Classes that tell a technician that the board may stay on. */
const HEALTHY = ["standby-only", "partly-up", "core-alive", "normal"];
const INTERVAL_MS = 50;

let folder = "";
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), "collapse-"));
});
afterAll(() => rm(folder, { recursive: true }));

interface Ending {
  volts: number;
  amps: number;
  readings: number;
}

/** A board that draws `amps` at 12 V for `seconds`, then what `ending` says, then `off` readings of nothing. */
function record(amps: number, seconds: number, ending: readonly Ending[], off = 0): string {
  const rows: [number, number][] = [[0, 0]];
  const steady = Math.round((seconds * 1000) / INTERVAL_MS);
  for (let i = 0; i < steady; i++) rows.push([12 + 0.001 * (i % 2), amps + 0.001 * ((i * 7) % 3)]);
  for (const { volts, amps: at, readings } of ending) for (let i = 0; i < readings; i++) rows.push([volts, at]);
  for (let i = 0; i < off; i++) rows.push([0, 0]);
  return `time_s,volts,amps\n${rows.map(([v, a], i) => `${((i * INTERVAL_MS) / 1000).toFixed(3)},${v.toFixed(3)},${a.toFixed(3)}`).join("\n")}\n`;
}

async function classed(text: string, limit?: number) {
  const file = join(folder, "record.csv");
  await writeFile(file, text);
  const out: string[] = [];
  const options = { json: true, host: "none", fans: "off", ...(limit === undefined ? {} : { limit }) } as const;
  const streams = { out: (line: string) => void out.push(line), err: () => undefined };
  expect(await classifyFiles([file], options, streams)).toBe(0);
  return JSON.parse(out.join("")) as { class: string; because: string[]; features: Record<string, number | null> };
}

// 1.1 V at the 3 A limit is 0.37 Ω: a path that no converter makes, since none runs at 1.1 V (arithmetic).
describe("a healthy record that ends at 1.1 V and 3 A", () => {
  for (const limit of [3, undefined])
    for (const readings of [1, 2, 3, 4, 7])
      for (const off of [0, 5])
        it(`is no healthy draw: ${readings} such readings, the limit ${limit ?? "not"} stated, ${off} readings of nothing after it`, async () => {
          const found = await classed(record(1.1, 12, [{ volts: 1.1, amps: 3, readings }], off), limit);
          expect(["dead-short", "overload"]).toContain(found.class);
          expect(found.because.join(" ")).toMatch(/1\.1 V/);
        });
  it("is no healthy draw of a board on standby either", async () => {
    for (const amps of [0.02, 0.25, 2.7])
      for (const limit of [3, undefined])
        expect(HEALTHY).not.toContain(
          (await classed(record(amps, 12, [{ volts: 1.1, amps: 3, readings: 1 }]), limit)).class,
        );
  });
});

describe("a single reading under the limit in the middle of a watch", () => {
  it("is evidence: no healthy class, and the sentence says when", async () => {
    const ending = [
      { volts: 1.1, amps: 3, readings: 1 },
      { volts: 12, amps: 1.1, readings: 120 },
    ];
    const found = await classed(record(1.1, 8, ending), 3);
    expect(HEALTHY).not.toContain(found.class);
    expect(found.because.join(" ")).toMatch(/8 s/);
  });
});

describe("a healthy record that ends by switching off", () => {
  it("keeps its class while the capacitors empty into the load", async () => {
    const empties = [
      { volts: 9.2, amps: 0.4, readings: 1 },
      { volts: 6.1, amps: 0.02, readings: 1 },
      { volts: 3.3, amps: 0.001, readings: 3 },
    ];
    for (const limit of [3, undefined])
      expect((await classed(record(1.1, 12, empties, 3), limit)).class).toBe("core-alive");
  });
  it("keeps its class where the limit held the start for 100 ms", async () => {
    const text = record(1.1, 12, [])
      .replace("0.050,12.000", "0.050,6.000")
      .replace(/(0\.050,6\.000),.*/, "$1,3.000");
    expect((await classed(text, 3)).class).toBe("core-alive");
  });
});
