/** What the speed runs have in common: options, quantiles, and rows of the one table. */
import { spawnSync } from "node:child_process";
import { appendFileSync } from "node:fs";
import { fileURLToPath } from "node:url";

export const option = (name) => {
  const at = process.argv.indexOf(`--${name}`);
  return at === -1 ? undefined : process.argv[at + 1];
};

/** Of the full size; a smaller share tells whether it runs, not how fast it is. */
export const SHARE = Number(option("share") ?? 1);

/** A part of the program as it was built. */
export const built = (path) => import(new URL(`../../dist/src/${path}`, import.meta.url).href);
export const MAIN = fileURLToPath(new URL("../../dist/src/main.js", import.meta.url));

export const sorted = (values) => [...values].sort((a, b) => a - b);
export const median = (values) => sorted(values)[values.length >> 1];
export const p95of = (values) => sorted(values)[Math.ceil(0.95 * values.length) - 1];

/** The 95th of 100 times of some work, milliseconds by the clock, and by the processor, which a busy machine falsifies less. */
export async function p95(work, times = 100) {
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

/** The middle of several starts of commands, milliseconds; they take turns, so that all meet the same machine. */
export function startTimes(commands, rounds = 15) {
  const times = commands.map(() => []);
  for (let round = 0; round < rounds; round++) {
    for (const [index, args] of commands.entries()) {
      const began = performance.now();
      const { status } = spawnSync(process.execPath, args, { stdio: "ignore" });
      if (status !== 0) throw new Error(`${args.join(" ")} ended with ${status}`);
      times[index].push(performance.now() - began);
    }
  }
  return times.map(median);
}

const rows = [];

/**
 * Adds a row: `measured` and `baseline` are numbers of one unit, or of two that are said in `unit` and `baselineUnit`. `aim` bounds
 * `measured`, or the ratio where it is said "of" (`{ most: 1.5, of: "ratio" }`). `note` says what else is worth knowing.
 */
export function row({ what, measured, unit, baseline, baselineIs, baselineUnit = unit, aim, note = "" }) {
  const ratio = measured / baseline;
  const judged = aim?.of === "ratio" ? ratio : measured;
  const isMet =
    aim === undefined ? null : judged <= (aim.most ?? Number.POSITIVE_INFINITY) && judged >= (aim.least ?? 0);
  const said = aim === undefined ? "" : `${aim.most === undefined ? "≥" : "≤"} ${aim.most ?? aim.least}`;
  const aimed = aim === undefined ? "" : `${said}${aim.of === "ratio" ? " ×" : ` ${unit}`}`;
  rows.push({
    what,
    measured: `${round(measured)} ${unit}${note === "" ? "" : ` (${note})`}`,
    "baseline of the same run": `${round(baseline)} ${baselineUnit}, ${baselineIs}`,
    ratio: round(ratio),
    aim: aimed,
    met: isMet === null ? "" : isMet ? "yes" : "no",
  });
}

/** As few digits as tell two runs apart. */
const round = (value) => (Number.isFinite(value) ? Number(value.toPrecision(value >= 1000 ? 4 : 3)) : null);

/** Prints the rows, hands them to whoever started this, and ends with 1 where `--strict` was asked and an aim is missed. */
export function done() {
  console.table(rows);
  const to = option("rows");
  if (to !== undefined) for (const each of rows) appendFileSync(to, `${JSON.stringify(each)}\n`);
  if (process.argv.includes("--strict") && rows.some(({ met }) => met === "no")) process.exitCode = 1;
}
