/** How long after a bad reading the supply has its off, with 50 pages open, beside a socket that does nothing but answer. */
import { spawnSync } from "node:child_process";
import { fileURLToPath } from "node:url";
import { done, row, SHARE } from "./measure.mjs";

const TRIPS = Math.max(40, Math.trunc(400 * SHARE));
const cwd = fileURLToPath(new URL("../..", import.meta.url));
const vitest = fileURLToPath(new URL("../../node_modules/vitest/vitest.mjs", import.meta.url));
const { stdout, status } = spawnSync(process.execPath, [vitest, "run", "tests/faults/trip-latency.test.ts"], {
  cwd,
  encoding: "utf8",
  env: { ...process.env, FIRSTAMP_TRIPS: String(TRIPS) },
  maxBuffer: 64 * 1024 * 1024,
});
const line = stdout.split("\n").find((each) => each.includes('{"figures":'));
if (status !== 0 || line === undefined) throw new Error(`the trips ended with ${status}:\n${stdout.slice(-2000)}`);
const [program, echo] = JSON.parse(line.slice(line.indexOf("{"))).figures;
for (const [share, name] of [
  ["p50Ms", "half of them"],
  ["p99Ms", "99 %"],
])
  row({
    what: `from a bad reading to the off, ${TRIPS} trips, ${name} within`,
    measured: program[share],
    unit: "ms",
    baseline: echo[share],
    baselineIs: "a socket that does nothing else",
  });
done();
