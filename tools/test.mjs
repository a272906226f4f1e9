import { spawnSync } from "node:child_process";
import { CI_NUMBERS, FULL_NUMBERS } from "./case-numbers.mjs";
import { inOne, summaryOf } from "./failures.mjs";
import { atLowPriority } from "./low-priority.mjs";
import { prepareNode, testOnNode } from "./other-nodes.mjs";
import { root } from "./root.mjs";
import { runVitest } from "./run-vitest.mjs";
import { QUICK } from "./test-folders.mjs";

/**
 * `npm test`: every test and the check; in CI, or with --nodes, also the other versions of Node that are tried. CI does more cases of some
 * tests. --quick leaves out what starts processes, a browser or a long study. --full does as many cases as `npm run faults`. Other
 * arguments go to vitest: `npm test -- tests/link`.
 */
const OWN = ["--nodes", "--quick", "--full"];
const OTHER_NODES = [24, 26];
const isQuick = process.argv.includes("--quick");
const args = [...process.argv.slice(2).filter((each) => !OWN.includes(each)), ...(isQuick ? QUICK : [])];
const isCi = process.env.CI === "true";
const withOtherNodes = process.argv.includes("--nodes") || (isCi && !isQuick);

let env = process.env;
if (isCi) env = { ...CI_NUMBERS, ...env };
if (process.argv.includes("--full")) env = { ...env, ...FULL_NUMBERS };

const began = Date.now();
const built = spawnSync(process.execPath, ["tools/build.mjs", "--if-stale"], { cwd: root, stdio: "inherit" });
if (built.status !== 0) {
  process.stdout.write("the build failed, no test ran\n0 passed, 1 failed\n");
  process.exit(1);
}

/** Without a choice of tests, four parts run: these one after the other, and `patient` beside the last two, at low priority. */
const isWhole = args.length === 0;
const PROMPT = ["together", "processes", "watches"];
const ofParts = (names) => names.flatMap((name) => ["--project", name]);

/**
 * The check, the other Nodes' builds and the tests that may wait, all at low priority. They begin with the tests of killed and watched
 * processes, which leave a third of the processors idle; the tests before those leave nothing.
 */
let besides = null;
function beginBesides() {
  besides ??= {
    patient: isWhole ? runVitest({ cwd: root, args: ofParts(["patient"]), env, givesWay: true }) : null,
    checking: atLowPriority(process.execPath, ["tools/check.mjs", "--no-tests"], { cwd: root }),
    preparing: Promise.all((withOtherNodes ? OTHER_NODES : []).map(prepareNode)),
  };
  return besides;
}

// The quick tests start none of those processes: the check begins at once.
if (isQuick) beginBesides();
const onPart = (name) => {
  if (name !== PROMPT[0]) beginBesides();
};
const tested = await runVitest({ cwd: root, args: isWhole ? ofParts(PROMPT) : args, env, onPart });
const { patient, checking, preparing } = beginBesides();
const results = [
  { part: `tests on Node ${process.versions.node}`, ...(patient === null ? tested : inOne(tested, await patient)) },
];

const check = await checking;
process.stdout.write(check.output);
results.push(
  check.ok
    ? { part: "check", passed: 1, failed: 0, notes: [] }
    : { part: "check", passed: 0, failed: 1, notes: ["counted as one failed test; see above"] },
);

for (const each of await preparing) results.push({ part: `tests on Node ${each.major}`, ...(await testOnNode(each)) });

process.stdout.write(`\n${summaryOf(results, Math.round((Date.now() - began) / 1000))}\n`);
process.exitCode = results.some(({ failed }) => failed > 0) ? 1 : 0;
