import { spawn } from "node:child_process";
import {
  chmodSync,
  cpSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  symlinkSync,
  writeFileSync,
} from "node:fs";
import { tmpdir } from "node:os";
import { delimiter, dirname, join } from "node:path";
import { atLowPriority } from "./low-priority.mjs";
import { root } from "./root.mjs";
import { runStep } from "./run-step.mjs";
import { runVitest } from "./run-vitest.mjs";

const dialects = ["plain", "selection", "channel-list", "numbered"];

/**
 * The tests of what differs from one Node to another: links and the instruments on them, the record on SQLite's interface and on a
 * server, processes that are killed, the program as it is built, and as it is packed and installed. Functions without a clock or a process
 * come to the same on each.
 */
const TESTS = [
  ...["tests/link", "tests/instrument", "tests/guardian"],
  ...["tests/job", "tests/capture", "tests/shop"],
  ...["tests/faults/process-deaths", "tests/faults/off-program"],
  ...["tests/command/serve.test.ts", "tests/command/terminal", "tests/command/installed"],
];
const KILLS_OF_EACH_PROCESS = "4";
/** Of a power-up in each dialect: long enough for a verdict. */
const WATCH_SECONDS = "3";
const left = new Set(["node_modules", "dist", ".git", ".cache", "coverage"]);

/** Another Node as an npm package in a folder of its own; its binary's path. */
async function fetchNode(folder, major) {
  mkdirSync(folder);
  writeFileSync(join(folder, "package.json"), JSON.stringify({ private: true, allowScripts: { node: true } }));
  const npm = process.env.npm_execpath?.endsWith(".js") ? [process.execPath, process.env.npm_execpath] : ["npm"];
  const args = [...npm.slice(1), "install", `node@${major}`, "--no-audit", "--no-fund", "--prefer-offline"];
  const { ok, output } = await runStep(`fetching Node ${major}`, npm[0], args, { cwd: folder });
  return {
    ok,
    output,
    node: join(folder, "node_modules", "node", "bin", process.platform === "win32" ? "node.exe" : "node"),
  };
}

/**
 * A copy of the checkout with the same packages, so that what was built for the Node of every day stays as it is. Nothing
 * is ever installed there: npm would follow the links into the checkout itself.
 */
function copyCheckout(copy) {
  mkdirSync(copy);
  for (const name of readdirSync(root)) {
    if (!left.has(name) && !name.startsWith(".dist-")) cpSync(join(root, name), join(copy, name), { recursive: true });
  }
  mkdirSync(join(copy, "node_modules"));
  for (const name of readdirSync(join(root, "node_modules"))) {
    if (!name.startsWith("."))
      symlinkSync(join(root, "node_modules", name), join(copy, "node_modules", name), "junction");
  }
}

/** Rules by which a machine that is too busy, not the board, ends a run: such a run is done again, and said. */
const tooSlow = JSON.parse(readFileSync(join(root, "tools", "too-slow.json"), "utf8"));
const tries = 3;

async function powerUp(dialect, where, result) {
  for (let left = tries - 1; ; left--) {
    const { wrong, trip } = await powerUpOnce(dialect, where);
    result.runs += 1;
    if (wrong === null || left === 0 || !tooSlow.includes(trip?.rule)) return wrong;
    result.doneAgain.push(trip.because);
  }
}

/** What a program printed on each stream until it ended; it is killed after three minutes. */
function ended(node, args, { copy: cwd, env }) {
  const child = spawn(node, args, { cwd, env, stdio: ["ignore", "pipe", "pipe"], timeout: 180_000 });
  let [stdout, stderr] = ["", ""];
  child.stdout.setEncoding("utf8").on("data", (text) => {
    stdout += text;
  });
  child.stderr.setEncoding("utf8").on("data", (text) => {
    stderr += text;
  });
  return new Promise((done) => child.once("close", (status) => done({ status, stdout, stderr })));
}

async function powerUpOnce(dialect, { copy, node, env, data }) {
  const args = [
    "dist/src/main.js",
    "try",
    "--once",
    "--watch",
    WATCH_SECONDS,
    "--json",
    "--dialect",
    dialect,
    "--data",
    data,
  ];
  const { status, stdout, stderr } = await ended(node, args, { copy, env });
  try {
    const found = JSON.parse(stdout);
    if (status === 0 && found.class === "normal" && found.output === "off") return { wrong: null, trip: null };
    const { trip } = found;
    const why = trip === null ? "no trip" : `trip ${trip.rule}: ${trip.because}`;
    return { wrong: `${dialect}: exit ${status}, class ${found.class}, output ${found.output}, ${why}`, trip };
  } catch {
    return { wrong: `${dialect}: exit ${status}, no document on stdout; ${stderr.slice(-500)}`, trip: null };
  }
}

/**
 * Fetches another major version of Node, and makes the build under it in a copy of the checkout, with low priority: other tests may
 * run meanwhile. Answers with what `testOnNode` needs; `problem` says why it cannot be tested.
 */
export async function prepareNode(major) {
  const folder = mkdtempSync(join(tmpdir(), `firstamp-node${major}-`));
  const copy = join(folder, "firstamp");
  try {
    // Before anything else, while the checkout is as the tests find it.
    copyCheckout(copy);
    const { ok: isFetched, output: said, node } = await fetchNode(join(folder, "node"), major);
    if (!isFetched) throw new Error(`Node ${major} could not be fetched: ${said.slice(-300)}`);
    // Tests also run the program as another user.
    chmodSync(folder, 0o755);
    const env = { ...process.env, PATH: `${dirname(node)}${delimiter}${process.env.PATH}` };
    for (const name of ["FIRSTAMP_TOOLS_LOCK", "npm_node_execpath", "npm_config_nodedir", "NODE"]) delete env[name];
    const { ok, output } = await atLowPriority(node, ["tools/build.mjs"], { cwd: copy, env });
    if (!ok) throw new Error(`the build failed: ${output.slice(-2000)}`);
    return { major, folder, node, copy, env, problem: null };
  } catch (cause) {
    return { major, folder, problem: cause.message };
  }
}

/** The tests of what differs and one power-up per dialect under another major version of Node that is prepared, counted. */
export async function testOnNode({ major, folder, node, copy, env, problem }) {
  try {
    if (problem !== null) return { passed: 0, failed: 1, notes: [problem] };
    const result = await runVitest({
      cwd: copy,
      args: TESTS,
      node,
      env: { ...env, FIRSTAMP_TRIALS: KILLS_OF_EACH_PROCESS },
    });
    const powered = async (dialect) => {
      const wrong = await powerUp(dialect, { copy, node, env, data: join(folder, `data-${dialect}`) }, result);
      process.stdout.write(`${wrong === null ? "ok    " : "FAILED"} power-up on Node ${major}, ${dialect}\n`);
      if (wrong === null) result.passed += 1;
      else {
        result.failed += 1;
        result.notes.push(wrong);
      }
    };
    // Two at a time: each is five processes.
    const waiting = [...dialects];
    const lane = async () => {
      for (let dialect = waiting.shift(); dialect !== undefined; dialect = waiting.shift()) await powered(dialect);
    };
    await Promise.all([lane(), lane()]);
    return result;
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}
