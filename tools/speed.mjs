import { spawnSync } from "node:child_process";
import { mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { cpus, loadavg, tmpdir, totalmem } from "node:os";
import { join } from "node:path";
import { COLUMNS, hourLines, lineOf } from "../tests/speed/hour-rows.mjs";
import { root } from "./root.mjs";

/**
 * Runs what measures speed, one after the other, on a fresh build, and writes one table of it: docs/speed.md, or dist/speed.md where
 * `--share 0.1` asks for a smaller run, which tells whether everything runs and not how fast it is. `--only record` runs the parts
 * whose name has that in it. `--strict` ends with 1 where an aim is missed.
 */
const option = (name) => {
  const at = process.argv.indexOf(`--${name}`);
  return at === -1 ? undefined : process.argv[at + 1];
};
const run = (args) => spawnSync(process.execPath, args, { cwd: root, stdio: "inherit" }).status ?? 1;
const folder = join("tests", "speed");
const only = option("only") ?? "";
const share = Number(option("share") ?? 1);
const isWhole = share === 1 && only === "";
const measuring = readdirSync(join(root, folder)).filter(
  (name) => /-(rate|time|size)\.mjs$/.test(name) && name.includes(only),
);
const built = run([join("tools", "build.mjs"), "--if-stale"]);
if (built !== 0) process.exit(built);

const making = mkdtempSync(join(tmpdir(), "firstamp-speed-rows-"));
const rows = join(making, "rows.jsonl");
writeFileSync(rows, "");
const before = loadavg()[0];
const beganMs = Date.now();
const failed = measuring.filter((name) => run([join(folder, name), ...process.argv.slice(2), "--rows", rows]) !== 0);

const docs = join(root, "docs", "speed.md");
const table = readFileSync(rows, "utf8")
  .split("\n")
  .filter((line) => line !== "")
  .map((line) => JSON.parse(line));
const text = [
  "# How fast it is",
  "",
  "*For whoever wants to know how fast it is. Next: [Injected faults](faults.md).*",
  "",
  "Made by `npm run speed`; do not edit. Each figure stands beside a baseline that was measured in the same run on the same machine: a busy machine is slow at both. `p95`: the 95th of 100.",
  "",
  ...(share === 1
    ? []
    : [`**At ${share} of the full size: it tells whether everything runs, and not how fast it is.**`, ""]),
  `Node ${process.versions.node}, ${cpus().length} processors (${cpus()[0]?.model.trim() ?? "unknown"}), ${Math.round(totalmem() / 2 ** 30)} GiB; load ${before?.toFixed(1)} before, ${loadavg()[0]?.toFixed(1)} after; ${Math.round((Date.now() - beganMs) / 60_000)} minutes.`,
  "",
  `| ${COLUMNS.join(" | ")} |`,
  `|${COLUMNS.map(() => "---").join("|")}|`,
  ...table.map(lineOf),
  // The rows that take an hour are measured by themselves, and stay.
  ...(isWhole ? hourLines(readFileSync(docs, "utf8")) : []),
  ...(failed.length === 0 ? [] : ["", `Not to its end, or short of its aim: ${failed.join(", ")}.`]),
  "",
].join("\n");
const out = isWhole ? docs : join(root, "dist", "speed.md");
mkdirSync(join(root, "dist"), { recursive: true });
writeFileSync(out, text);
rmSync(making, { recursive: true, force: true });
process.stdout.write(`\nWritten to ${out}.\n`);
if (failed.length > 0) process.exitCode = 1;
