import { type ChildProcess, spawn } from "node:child_process";
import os from "node:os";
import { afterAll, expect, test } from "vitest";
import type { RunOutcome } from "../../shared/plan.ts";
import { raisePriority } from "../../src/bench/raise-priority.ts";
import { openBrowser } from "../browser/page-rig.ts";
import { endPrograms, runProgram, startProgram, testFolder } from "../command/run-program.ts";
import { isStarted, serveProgram, waiverFor } from "../command/served-bench.ts";
import { keepTable } from "./fault-report.ts";

const POWER_UPS = Number(process.env["FIRSTAMP_NUISANCE"] ?? "2");
/** Above the process that cuts, below its guardian: a real instrument does not wait for this computer's processors. */
const INSTRUMENT_LEVEL = 15;

const spinning: ChildProcess[] = [];
afterAll(async () => {
  for (const each of spinning) each.kill("SIGKILL");
  await endPrograms();
});

/** What ended a run for the computer's sake; null where it was the plan, the board or a person. */
const endedFor = (outcome: RunOutcome): string | null =>
  outcome.endedBy === "bench" ? `${outcome.trip?.rule ?? "failed"}: ${outcome.trip?.because ?? "no reason"}` : null;

test(
  `${POWER_UPS} power-ups with a page open and a spinning process for each processor: none ends for the computer's sake where the cut runs at real time`,
  async () => {
    const folder = await testFolder();
    const at = (name: string): string => `${folder.path}/${name}`;
    const simulation = startProgram([
      ...["simulate", "--json", "--scenario", "single-feed"],
      ...["--out", at("bench.json"), "--board-out", at("board.json")],
    ]);
    await simulation.until("out", /\n/);
    if (simulation.child.pid !== undefined) raisePriority(simulation.child.pid, INSTRUMENT_LEVEL);
    const data = at("data");
    const served = await serveProgram(["--bench", at("bench.json"), "--board", at("board.json")], data);
    const browser = await openBrowser();
    const page = await browser.newPage();
    await page.goto(served.url);
    await page.locator('.phase[data-phase="live"]').waitFor();
    const by = await served.script();
    let { bench } = (await by.client.next("snapshot")).snapshot;
    while (!bench.instruments.every((each) => each.connected)) ({ bench } = await by.client.next("bench"));
    const lease = await by.takeLease();
    for (let each = 0; each < os.cpus().length; each++)
      spinning.push(spawn(process.execPath, ["-e", "for (;;);"], { stdio: "ignore" }));

    const ended: string[] = [];
    let job: string | null = null;
    for (let each = 0; each < POWER_UPS; each++) {
      const asked = {
        board: null,
        coldOhms: { in12: "open" as const },
        conditions: {
          host: "none" as const,
          fans: "off" as const,
          cooler: "cooler" as const,
          polarityChecked: true,
          commonReturn: true,
          sidebandStrapped: true,
          pairsUnplugged: true,
        },
        waiver: null,
        watchSeconds: 2,
        keepOn: false,
        job,
      };
      const preview = await by.preview(asked);
      const started = await by.start({ ...asked, waiver: waiverFor(preview) }, preview, lease);
      if (!isStarted(started)) {
        ended.push(JSON.stringify(started));
        continue;
      }
      let outcome = await by.client.next("outcome");
      while (outcome.run !== started.run) outcome = await by.client.next("outcome");
      const why = endedFor(outcome.outcome);
      if (why !== null) ended.push(why);
      job = (await by.client.next("job-changed")).job;
    }
    for (const each of spinning.splice(0)) each.kill("SIGKILL");
    await browser.close();
    const { out } = await runProgram(["job", "show", job ?? "", "--json", "--data", data]);
    const scheduling = /"scheduling":\s*"([^"]*)"/.exec(out)?.[1] ?? "not known";
    const figures = { powerUps: POWER_UPS, ended, scheduling, spinning: os.cpus().length };
    keepTable("nuisance", figures);
    process.stdout.write(`${JSON.stringify(figures)}\n`);
    // The supply must outlive whoever switches it off.
    served.program.child.kill("SIGTERM");
    await served.program.ended;
    await folder.remove();
    if (scheduling.startsWith("real time")) expect(ended).toEqual([]);
    // Without real time the share is told; a run that is ended for no reason at all would still be a fault.
    for (const why of ended) expect(why).not.toContain("no reason");
  },
  120_000 + 30_000 * POWER_UPS,
);
