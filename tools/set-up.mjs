import { createHash } from "node:crypto";
import { existsSync, readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { locked } from "./lock.mjs";
import { root } from "./root.mjs";
import { runStep } from "./run-step.mjs";
import { distIsFresh } from "./source-hash.mjs";
import { aptInstall, missingPackages, spareTools, testTools } from "./system-packages.mjs";

// Everything `npm start` and `npm test` need, made once. Only what Node brings is used here: nothing may be installed yet.

const forTests = process.argv.includes("--test");
const lockFile = join(root, "package-lock.json");
const stampFile = join(root, "node_modules", ".firstamp-set-up.json");
/** Packages that the tests can do without and apt-get did not install: asked for once. */
const inVainFile = join(root, "node_modules", ".firstamp-in-vain.json");

function stop(sentence) {
  process.stderr.write(`firstamp: ${sentence}\n`);
  process.exit(1);
}

function readJson(path) {
  try {
    return JSON.parse(readFileSync(path, "utf8"));
  } catch {
    return null;
  }
}

function checkNode() {
  const [major, minor] = process.versions.node.split(".").map(Number);
  if (major < 20 || (major === 20 && minor < 19)) {
    stop(`Node ${process.versions.node} is too old; firstamp needs Node 20.19 or newer`);
  }
}

/** The installed packages belong to this lock file and this machine. */
function stampNow() {
  return {
    lock: createHash("sha256").update(readFileSync(lockFile)).digest("hex"),
    machine: `${process.platform}-${process.arch}`,
  };
}

/** Whether what npm noted down when it installed is what the lock file asks for (packages for other machines apart). */
function installedAsLocked() {
  const wanted = readJson(lockFile)?.packages ?? {};
  const there = readJson(join(root, "node_modules", ".package-lock.json"))?.packages;
  if (there === undefined) return false;
  return (
    Object.entries(wanted).every(
      ([path, { version, optional }]) =>
        path === "" || (there[path] === undefined ? optional : there[path].version === version),
    ) && Object.keys(there).every((path) => wanted[path] !== undefined && existsSync(join(root, path)))
  );
}

function npm(args) {
  const script = process.env.npm_execpath;
  if (script?.endsWith(".js") && existsSync(script)) return [process.execPath, [script, ...args]];
  return ["npm", args];
}

async function installPackages() {
  // Packages with machine code carry it ready-made: no install script has to run, and no compiler is needed.
  const [command, args] = npm([
    "ci",
    "--include=dev",
    "--ignore-scripts",
    "--no-audit",
    "--no-fund",
    "--prefer-offline",
  ]);
  const { ok, output } = await runStep("installing packages", command, args);
  if (!ok) stop(`"npm ci" failed:\n${output}\nIs there a network, and may this folder be written?`);
}

function packagesInPlace() {
  const stamp = readJson(stampFile);
  const now = stampNow();
  return stamp !== null && Object.entries(now).every(([key, value]) => stamp[key] === value);
}

async function setUpPackages() {
  if (packagesInPlace()) return;
  if (!installedAsLocked()) await installPackages();
  writeFileSync(stampFile, `${JSON.stringify(stampNow())}\n`);
}

function spareMissing() {
  const inVain = readJson(inVainFile) ?? [];
  return missingPackages(spareTools).filter((name) => !inVain.includes(name));
}

const missingForTests = () => [...missingPackages(testTools), ...spareMissing()];

async function setUpTestTools() {
  const missing = missingForTests();
  if (missing.length === 0) return;
  const installed = await aptInstall(missing);
  writeFileSync(inVainFile, `${JSON.stringify(missingPackages(spareTools))}\n`);
  if (!installed.ok && missingPackages(testTools).length > 0)
    process.stderr.write(`firstamp: tests that need them will fail. ${installed.sentence}\n`);
}

checkNode();
if (!packagesInPlace() || !distIsFresh() || (forTests && missingForTests().length > 0)) {
  await locked(async () => {
    await setUpPackages();
    if (forTests) await setUpTestTools();
    if (distIsFresh()) return;
    const { ok, output } = await runStep("building", process.execPath, ["tools/build.mjs", "--if-stale"]);
    if (!ok) stop(`the build failed:\n${output}`);
  });
}
