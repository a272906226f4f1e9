import { afterAll, beforeAll, expect, test } from "vitest";
import { openJobStore } from "../../src/job/store/open-job-store.ts";
import { despiteBusyMachine, type PoweredBench, poweredBench, timesOn, wasTooSlow } from "./powered-bench.ts";
import { runProgram } from "./run-program.ts";

let bench: PoweredBench;
let job = "";
const data = (): string => `${bench.folder.path}/data`;
beforeAll(async () => {
  bench = await poweredBench({ scenario: "single-feed", typesColdOhms: false });
  job = JSON.parse((await runProgram(["job", "new", "--data", data(), "--json"])).out).job;
}, 60_000);
afterAll(() => bench.close());

/** As a cold sweep files them. */
async function fileCold(): Promise<void> {
  const store = await openJobStore(data(), { ballastBytes: 0 });
  const ohms = bench.simulation.coldOhms;
  await store.appendEvent(job, { kind: "cold-readings", ohms, by: "meter", boardCelsius: null });
  await store.close();
}

test("a repair noted in the job expires its cold readings: the permit wants them anew, and says why", async () => {
  await fileCold();
  const noted = await runProgram(["job", "note", job, "--repair", "replaced", "Q12", "--data", data()]);
  expect(noted.code).toBe(0);
  const { code, err } = await bench.powerup("--job", job, "--json").ended;
  expect(code).toBe(2);
  expect(err).toContain("a repair was done after it: measure again");
  expect(timesOn(bench.simulation)).toBe(0);
}, 60_000);

test("cold readings of the job count without being typed in again", async () => {
  await fileCold();
  const document = await despiteBusyMachine(
    async () => {
      const { out } = await bench.powerup("--job", job, "--json").ended;
      return JSON.parse(out);
    },
    ({ trip }) => (wasTooSlow(trip, true) ? trip.because : null),
  );
  expect(document).toMatchObject({ output: "off", trip: null, job });
  expect(timesOn(bench.simulation)).toBeGreaterThan(0);
}, 120_000);
