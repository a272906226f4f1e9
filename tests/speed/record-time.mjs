/**
 * How long the record of a bench takes to list, search and open, with 10,000 jobs of three captures each: in the process, and on the
 * command line beside `job --help`. `--data DIR` takes a record that was filled before.
 */
import { existsSync } from "node:fs";
import { mkdtemp, rm } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { built, done, MAIN, option, p95, row, SHARE, startTimes } from "./measure.mjs";
import { SEARCHES } from "./searches.mjs";

const JOBS = Math.trunc(10_000 * SHARE);
const given = option("data");
const data = given ?? (await mkdtemp(join(tmpdir(), "firstamp-speed-")));
if (given === undefined || !existsSync(join(data, "firstamp.db"))) {
  const { fill } = await import("../../tools/fill-record.mjs");
  await fill({ jobs: JOBS, data });
}
const { openJobStore } = await built("job/store/open-job-store.js");
const store = await openJobStore(data, { readOnly: true });
const all = await store.list();
const runs = [];
for (const { job } of all.slice(0, 20)) runs.push(...(await store.show(job)).captures.map(({ run }) => run));
const idOf = (index) => all[(index * 97) % all.length].job;

const bare = await p95((index) => store.hasJob(idOf(index)));
const measured = async (what, aim, work) => {
  const { ms, cpuMs } = await p95(work);
  row({
    what: `${what}, ${all.length} jobs on a bench, p95`,
    measured: ms,
    unit: "ms",
    baseline: bare.ms,
    baselineIs: "one row by its id",
    aim: { most: aim },
    note: `processor ${cpuMs.toFixed(1)}`,
  });
};
await measured("list of 50", 50, () => store.search({ most: 50 }));
const searches = SEARCHES(all[Math.trunc(all.length / 2)].createdAt);
await measured("search, eight kinds in turn", 50, (index) =>
  store.search({ ...searches[index % searches.length], most: 50 }),
);
await measured("ten similar draws", 50, (index) => store.similar(runs[index % runs.length], 10));
await measured("opening a job", 30, (index) => store.show(idOf(index)));
await store.close();

const [help, list] = startTimes([
  [MAIN, "job", "--help"],
  [MAIN, "job", "list", "--data", data],
]);
row({
  what: `\`job list\`, ${all.length} jobs`,
  measured: list,
  unit: "ms",
  baseline: help,
  baselineIs: "`job --help`",
  aim: { most: 1.5, of: "ratio" },
});
if (given === undefined) await rm(data, { recursive: true, force: true });
done();
