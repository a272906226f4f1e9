import { readFile } from "node:fs/promises";
import { afterAll, beforeAll, expect, test } from "vitest";
import { type PoweredBench, poweredBench, timesOn } from "./powered-bench.ts";
import { runProgram } from "./run-program.ts";

let bench: PoweredBench;
beforeAll(async () => {
  bench = await poweredBench({ scenario: "single-feed" });
});
afterAll(() => bench.close());

const data = (): string => `${bench.folder.path}/data`;
const nullLeads = (...more: string[]) =>
  runProgram(["null-leads", "--bench", `${bench.folder.path}/bench.json`, "--data", data(), ...more]);

test("the leads are nulled with the tips together, kept and filed; nothing is energised", async () => {
  const { job } = JSON.parse((await runProgram(["job", "new", "--data", data(), "--json"])).out);
  bench.simulation.probe("shorted");
  const { code, out, err } = await nullLeads("--job", job, "--json");
  expect({ code, err }).toMatchObject({ code: 0 });
  const document = JSON.parse(out);
  // The simulated leads have 0.1 Ω.
  expect(document.ohms).toBeCloseTo(0.1, 2);
  expect(JSON.parse(await readFile(`${data()}/lead-null.json`, "utf8"))).toMatchObject({ ohms: document.ohms });
  const shown = (await runProgram(["job", "show", job, "--data", data()])).out;
  expect(Number(/leads nulled at ([\d.]+) mΩ/.exec(shown)?.[1])).toBeCloseTo(1000 * document.ohms, 0);
  expect(timesOn(bench.simulation)).toBe(0);
}, 60_000);

test("a rail between the probes is no lead: refused, and the null from before stays", async () => {
  const before = await readFile(`${data()}/lead-null.json`, "utf8");
  bench.simulation.probe("5v");
  const { code, err } = await nullLeads();
  expect(code).toBe(2);
  expect(err).toContain("hold the tips together");
  expect(await readFile(`${data()}/lead-null.json`, "utf8")).toBe(before);
}, 60_000);
