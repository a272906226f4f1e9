import { spawnSync } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import os, { tmpdir } from "node:os";
import { join } from "node:path";
import { FULL_NUMBERS } from "./case-numbers.mjs";
import { doneAgainFigures } from "./done-again.mjs";
import { faultsPage } from "./faults-page.mjs";
import { root } from "./root.mjs";
import { runVitest } from "./run-vitest.mjs";

/**
 * The fault bench in full: every fault at every moment with several seeds, and each process killed 200 times. Writes
 * docs/faults.md from what was measured, also where something failed: a page that shows it is better than none.
 * `--seeds N`, `--trials N`, `--trips N`, `--nuisance N` and `--mutations N` make it shorter or longer.
 */
const option = (name, fallback) => {
  const at = process.argv.indexOf(`--${name}`);
  return at < 0 ? fallback : (process.argv[at + 1] ?? fallback);
};
const seeds = option("seeds", FULL_NUMBERS.FIRSTAMP_FAULT_SEEDS);
const trials = option("trials", FULL_NUMBERS.FIRSTAMP_TRIALS);
const trips = option("trips", FULL_NUMBERS.FIRSTAMP_TRIPS);
const nuisance = option("nuisance", FULL_NUMBERS.FIRSTAMP_NUISANCE);
const mutations = option("mutations", FULL_NUMBERS.FIRSTAMP_MUTATIONS);
const sideBySide = option("side-by-side", "5");
const OWN = [
  "catalogue",
  "fuzz",
  "incidents",
  "line-losses",
  "mutations",
  "off-program",
  "process",
  "trip-latency",
  "nuisance",
  "real-time",
].map((name) => `tests/faults/${name}`);
/** What other tests show of the 25 rows: late replies, links, the record, the page's own way in; and runs in real time. */
const ELSEWHERE = [
  "tests/instrument/late-replies",
  "tests/link",
  "tests/job/durability",
  "tests/capture/chunks",
  "tests/wire",
  "tests/command/powerup-contract",
  "tests/command/serve",
];
const loadAtStart = os.loadavg()[0];

const built = spawnSync(process.execPath, ["tools/build.mjs", "--if-stale"], { cwd: root, stdio: "inherit" });
if (built.status !== 0) process.exit(1);

const folder = mkdtempSync(join(tmpdir(), "firstamp-faults-"));
const out = join(folder, "measured.jsonl");
writeFileSync(out, "");
const from = Date.now();
const { passed, failed, notes, files, runs, doneAgain } = await runVitest({
  cwd: root,
  args: [...OWN, ...ELSEWHERE],
  env: {
    ...process.env,
    ...FULL_NUMBERS,
    FIRSTAMP_FAULTS_OUT: out,
    FIRSTAMP_FAULT_SEEDS: seeds,
    FIRSTAMP_TRIALS: trials,
    FIRSTAMP_SIDE_BY_SIDE: sideBySide,
    FIRSTAMP_TRIPS: trips,
    FIRSTAMP_NUISANCE: nuisance,
    FIRSTAMP_MUTATIONS: mutations,
  },
});
const kept = readFileSync(out, "utf8")
  .split("\n")
  .filter((line) => line !== "")
  .map((line) => JSON.parse(line));
rmSync(folder, { recursive: true, force: true });
const measured = kept.filter((each) => each.table === undefined);
const tables = Object.fromEntries(
  kept.flatMap((each) => (each.table === undefined ? [] : [[each.table, each.figures]])),
);
const minutes = (Date.now() - from) / 60_000;
const loads = [loadAtStart, os.loadavg()[0]];
const again = doneAgainFigures({ runs, doneAgain });
writeFileSync(
  join(root, "docs", "faults.md"),
  faultsPage({ measured, tables, files, passed, failed, seeds, trials, minutes, loads, again }),
);
for (const note of notes) process.stdout.write(`${note}\n`);
process.stdout.write(
  `docs/faults.md: ${measured.reduce((sum, each) => sum + each.injections, 0)} injections in ${Math.round((Date.now() - from) / 1000)} s; ${passed} passed, ${failed} failed\n`,
);
if (again.tooMany)
  process.stdout.write(
    `failed: ${again.count} of ${again.runs} runs in real time were done again, more than 2 in 100\n`,
  );
process.exitCode = failed > 0 || again.tooMany ? 1 : 0;
