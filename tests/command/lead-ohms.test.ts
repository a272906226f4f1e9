import { readFile } from "node:fs/promises";
import { afterAll, beforeAll, expect, test } from "vitest";
import { ScenarioFile } from "../../shared/files/scenario-file.ts";
import { type PoweredBench, poweredBench, timesOn } from "./powered-bench.ts";
import { endPrograms, startProgram } from "./run-program.ts";

/** Ohms of the leads on this bench; what joins their ends, a bolt, has a milliohm. */
const LEADS = 0.083;
const BOLT = 0.001;

const joinedEnds = (isOpen: boolean): ScenarioFile =>
  ScenarioFile.parse({
    version: 1,
    title: "Two leads with their ends joined",
    feeds: {
      aux: {
        nominalVolts: 12,
        leadOhms: LEADS,
        inputFarads: 1e-6,
        loads: [{ load: "resistor", ohms: BOLT }],
        open: isOpen,
      },
    },
    expected: { class: "dead-short", why: "the ends are joined" },
  });

let bench: PoweredBench;
let open: PoweredBench;
beforeAll(async () => {
  bench = await poweredBench({ scenario: joinedEnds(false) });
  open = await poweredBench({ scenario: joinedEnds(true) });
}, 60_000);
afterAll(async () => {
  await endPrograms();
  await Promise.all([bench.close(), open.close()]);
});

const measure = (on: PoweredBench, ...more: string[]) =>
  startProgram([
    ...["lead-ohms", "--bench", `${on.folder.path}/bench.json`, "--data", `${on.folder.path}/data`, "--feed", "aux"],
    ...["--json", "--waive", "no protection in the simulated supply", ...more],
  ]).ended;

test("leads with their ends joined: their ohms lie within the uncertainty that is said, and stand in the bench file", async () => {
  const { code, out, err } = await measure(bench, "--joined", "--write");
  const document = JSON.parse(out);
  expect({ code, err: code === 0 ? "" : err }).toEqual({ code: 0, err: "" });
  expect(document).toMatchObject({ output: "off", trip: null, feed: "aux" });
  expect(Math.abs(document.leadOhms - LEADS - BOLT)).toBeLessThan(document.leadExpandedOhms);
  // 0.5 % and 5 mV at 3 A: some milliohms, not tens (JCGM 100:2008, 4.3.7).
  expect(document.leadExpandedOhms).toBeLessThan(0.01);
  const written = JSON.parse(await readFile(`${bench.folder.path}/bench.json`, "utf8"));
  expect(written.feeds.aux).toMatchObject({ leadOhms: document.leadOhms, leadExpandedOhms: document.leadExpandedOhms });
}, 60_000);

test("nothing flows without the word that the ends are joined", async () => {
  const before = timesOn(open.simulation);
  const { code, err } = await measure(open);
  expect(code).toBe(2);
  expect(err).toContain("Both lead ends joined at the card end, no board on them");
  expect(timesOn(open.simulation)).toBe(before);
}, 60_000);

test("ends that are apart are no leads of no ohms: not measured, and the bench file stays as it is", async () => {
  const before = await readFile(`${open.folder.path}/bench.json`, "utf8");
  const { code, out } = await measure(open, "--joined", "--write");
  expect(code).toBe(1);
  expect(JSON.parse(out)).toMatchObject({ leadOhms: null, output: "off" });
  expect(JSON.parse(out).leadsBecause).toMatch(/the ends are not joined, or a lead is open/);
  expect(await readFile(`${open.folder.path}/bench.json`, "utf8")).toBe(before);
}, 60_000);
