/**
 * How long the record takes to list, search and open, with so many jobs as are asked for (10,000 by default, three captures
 * each): in the process, and on the command line beside `job --help`. Times are of the 95th of 100. `--jobs N`, `--data DIR`
 * (filled before), `--strict` ends with 1 where an aim is missed.
 */
import { spawnSync } from "node:child_process";
import { existsSync } from "node:fs";
import { mkdtemp, rm } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";

const option = (name) => {
  const at = process.argv.indexOf(`--${name}`);
  return at === -1 ? undefined : process.argv[at + 1];
};
const built = (path) => import(new URL(`../../dist/src/${path}`, import.meta.url).href);
const JOBS = Number(option("jobs") ?? 10_000);
const TIMES = 100;
const MAIN = fileURLToPath(new URL("../../dist/src/main.js", import.meta.url));

const p95of = (values) => values.sort((a, b) => a - b)[Math.ceil(0.95 * values.length) - 1];

/** By the clock and by the processor; on a machine that is busy with other things only the latter tells of this program. */
async function p95(work, times = TIMES) {
  const took = [];
  const busy = [];
  for (let index = 0; index < times; index++) {
    const [began, used] = [performance.now(), process.cpuUsage()];
    await work(index);
    took.push(performance.now() - began);
    const { user, system } = process.cpuUsage(used);
    busy.push((user + system) / 1000);
  }
  return { ms: p95of(took), cpuMs: p95of(busy) };
}

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
for (const { job } of all.slice(0, 20)) {
  const { captures } = await store.show(job);
  runs.push(...captures.map(({ run }) => run));
}
const rows = [];
const row = (what, { ms, cpuMs }, aim) =>
  rows.push({
    what,
    "p95, ms": Number(ms.toFixed(1)),
    "processor, ms": Number(cpuMs.toFixed(1)),
    aim,
    met: ms <= aim ? "yes" : "no",
  });
const searches = [
  { words: "capacitor" },
  { words: "tern picture" },
  { words: "c512 warm minute" },
  { owner: "finch" },
  { serial: "K100" },
  { board: "heron", result: "passed" },
  { class: "dead-short", state: "open" },
  { part: "inductor", since: all[Math.trunc(all.length / 2)].createdAt },
];
row(`list of 50 (${all.length} jobs)`, await p95(() => store.search({ most: 50 })), 50);
row(
  "search, eight kinds in turn",
  await p95((index) => store.search({ ...searches[index % searches.length], most: 50 })),
  50,
);
row("similar draws, ten", await p95((index) => store.similar(runs[index % runs.length], 10)), 50);
row("opening a job", await p95((index) => store.show(all[(index * 97) % all.length].job)), 30);
row("finding a job by its digits", await p95((index) => store.findJob(all[(index * 89) % all.length].short)), 30);
await store.close();

/** The middle of several starts, milliseconds; the two commands take turns, so that both meet the same machine. */
function commandTimes(commands, rounds = 15) {
  const times = commands.map(() => []);
  for (let round = 0; round < rounds; round++) {
    for (const [index, args] of commands.entries()) {
      const began = performance.now();
      const { status } = spawnSync(process.execPath, [MAIN, ...args], { stdio: "ignore" });
      if (status !== 0) throw new Error(`${args.join(" ")} ended with ${status}`);
      times[index].push(performance.now() - began);
    }
  }
  return times.map((each) => each.sort((a, b) => a - b)[rounds >> 1]);
}

const [help, list] = commandTimes([
  ["job", "--help"],
  ["job", "list", "--data", data],
]);
rows.push({
  what: `"job list" beside "job --help", ${help.toFixed(0)} ms`,
  "p95, ms": Number(list.toFixed(1)),
  ratio: Number((list / help).toFixed(2)),
  aim: "1.5 ×",
  met: list / help <= 1.5 ? "yes" : "no",
});
console.table(rows);
if (given === undefined) await rm(data, { recursive: true, force: true });
if (process.argv.includes("--strict") && rows.some(({ met }) => met === "no")) process.exitCode = 1;
