import { mkdtemp, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, expect, it } from "vitest";
import { classifyFiles } from "../../src/command/input/classify-files.ts";
import { seeded } from "../analysis/series.ts";

/** 15 s of a healthy power-up as a scope writes it: 2 mF charged at 1 A, then 0.85 A, noise of 4 mV and 4 mA. */
function scopeCsv(rows: number): string {
  const random = seeded(5);
  const lines = ["time_s,volts,amps"];
  for (let i = 0; i < rows; i++) {
    const seconds = (15 * i) / rows;
    const volts = Math.min(12, 500 * seconds);
    const amps = volts < 12 ? 1 : 0.85;
    lines.push(
      `${seconds.toFixed(7)},${(volts + 0.004 * random()).toFixed(4)},${(amps + 0.004 * random()).toFixed(4)}`,
    );
  }
  return `${lines.join("\n")}\n`;
}

let folder = "";
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), "linear-"));
  for (const rows of [100_000, 1_000_000]) await writeFile(join(folder, `${rows}.csv`), scopeCsv(rows));
});
afterAll(() => rm(folder, { recursive: true }));

/** Processor time, which a busy neighbour does not falsify as it would the clock on the wall. */
async function cpuMs(rows: number): Promise<{ ms: number; document: Record<string, unknown> }> {
  let out = "";
  const before = process.cpuUsage();
  const code = await classifyFiles(
    [join(folder, `${rows}.csv`)],
    { json: true, limit: 1 },
    {
      out: (text) => {
        out += text;
      },
      err: () => undefined,
    },
  );
  const { user, system } = process.cpuUsage(before);
  expect(code).toBe(0);
  return { ms: (user + system) / 1000, document: JSON.parse(out) as Record<string, unknown> };
}

it("classify takes at most twelve times as long for ten times the samples, and says the same", async () => {
  // The first run pays for compiling what both use.
  await cpuMs(100_000);
  const short = await cpuMs(100_000);
  const long = await cpuMs(1_000_000);
  expect(long.ms).toBeLessThanOrEqual(12 * short.ms);
  for (const { document } of [short, long]) {
    expect(document).toMatchObject({
      class: "core-alive",
      features: {
        plateauAmps: expect.closeTo(0.852, 3),
        chargeCoulombs: expect.closeTo(0.0236, 3),
        inputFarads: expect.closeTo(0.002, 4),
        limitedMs: expect.closeTo(23.3, 0),
      },
    });
  }
});
