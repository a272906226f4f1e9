/** What the page weighs as it is sent, and how long the program takes to answer and to serve. */
import { spawn } from "node:child_process";
import { readdirSync, readFileSync, statSync } from "node:fs";
import { mkdtemp, rm } from "node:fs/promises";
import { tmpdir } from "node:os";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import { gzipSync } from "node:zlib";
import { done, MAIN, median, row, startTimes } from "./measure.mjs";

const web = fileURLToPath(new URL("../../dist/web", import.meta.url));
const files = readdirSync(web, { recursive: true })
  .map((name) => join(web, String(name)))
  .filter((path) => statSync(path).isFile() && !path.endsWith(".map"));
const bytes = files.reduce((sum, path) => sum + statSync(path).size, 0);
const packed = files.reduce((sum, path) => sum + gzipSync(readFileSync(path)).length, 0);
row({
  what: "the page, all of it",
  measured: bytes / 1024,
  unit: "KiB",
  baseline: packed / 1024,
  baselineIs: "the same, gzipped",
});

const scripts = files.filter((path) => path.endsWith(".js"));
/** A script and what it needs before it runs; what it asks for later does not count. */
function withNeeded(path, found = new Set()) {
  if (found.has(path)) return found;
  found.add(path);
  for (const [, name] of readFileSync(path, "utf8").matchAll(/(?:from|import)\s*"\.\/([\w.-]+\.js)"/g))
    withNeeded(join(dirname(path), name), found);
  return found;
}
const first = withNeeded(
  join(web, /<script[^>]*src="\/([^"]+)"/.exec(readFileSync(join(web, "index.html"), "utf8"))[1]),
);
const weight = (paths) => [...paths].reduce((sum, path) => sum + gzipSync(readFileSync(path)).length, 0) / 1000;
row({
  what: "script of the page until its first figures, gzipped",
  measured: weight(first),
  unit: "kB",
  baseline: weight(scripts.filter((path) => !/\.de-[\w-]+\.js$/.test(path))),
  baselineIs: "all script in English",
  aim: { most: 90 },
});

const [help, bare] = startTimes([
  [MAIN, "--help"],
  ["-e", "0"],
]);
row({ what: "`firstamp --help`", measured: help, unit: "ms", baseline: bare, baselineIs: "`node -e 0`" });

const served = [];
for (let round = 0; round < 5; round++) {
  const data = await mkdtemp(join(tmpdir(), "firstamp-speed-"));
  const began = performance.now();
  const child = spawn(process.execPath, [MAIN, "serve", "--json", "--data", data], {
    stdio: ["ignore", "pipe", "ignore"],
  });
  await new Promise((resolve, reject) => {
    child.stdout.once("data", resolve);
    child.once("exit", () => reject(new Error("serve ended by itself")));
  });
  served.push(performance.now() - began);
  const ended = new Promise((resolve) => child.once("close", resolve));
  child.kill("SIGTERM");
  await ended;
  await rm(data, { recursive: true, force: true });
}
row({
  what: "`firstamp serve` until its address is there, a new record",
  measured: median(served),
  unit: "ms",
  baseline: bare,
  baselineIs: "`node -e 0`",
});
done();
