import { readFileSync } from "node:fs";
import { pathToFileURL } from "node:url";
import { root } from "./root.mjs";

/** Licences under which a package may be part of what is handed out, and beside these what only builds or tests it. */
const AT_RUN_TIME = ["MIT", "ISC", "0BSD", "BSD-2-Clause", "BSD-3-Clause", "Apache-2.0"];
const TO_BUILD = ["MPL-2.0", "BlueOak-1.0.0", "Python-2.0", "CC0-1.0", "CC-BY-4.0", "Unlicense"];
/** Packages with an install script, which the set-up never runs (`npm ci --ignore-scripts`). */
const SCRIPTS_NOT_RUN = ["node_modules/@photostructure/sqlite", "node_modules/@serialport/bindings-cpp"];

/**
 * What is wrong with a lock file, a sentence each: a package without its SHA-512, from elsewhere than the registry, under a
 * licence that is not in the lists, or with an install script that is not known. `package` is package.json's content.
 */
export function lockProblems(lock, own) {
  const problems = [];
  if (lock.lockfileVersion !== 3) problems.push(`the lock file has version ${lock.lockfileVersion}; it should be 3`);
  const { "": top, ...packages } = lock.packages;
  for (const kind of ["dependencies", "devDependencies"])
    if (JSON.stringify(top[kind] ?? {}) !== JSON.stringify(own[kind] ?? {}))
      problems.push(`${kind} of package.json are not those of the lock file; run npm install --ignore-scripts`);
  for (const [path, { integrity = "", resolved = "", license = "none", dev, hasInstallScript }] of Object.entries(
    packages,
  )) {
    if (!/^sha512-[A-Za-z0-9+/]{86}==$/.test(integrity)) problems.push(`${path} has no SHA-512`);
    // Left out it means the registry that npm is set to; the sum says what may come from there.
    if (resolved !== "" && !resolved.startsWith("https://registry.npmjs.org/"))
      problems.push(`${path} comes from ${resolved}`);
    const allowed = dev === true ? [...AT_RUN_TIME, ...TO_BUILD] : AT_RUN_TIME;
    if (
      !license
        .replace(/[()]/g, "")
        .split(" OR ")
        .some((each) => each.split(" AND ").every((one) => allowed.includes(one)))
    )
      problems.push(`${path} is under ${license}`);
    if (hasInstallScript === true && !SCRIPTS_NOT_RUN.includes(path)) problems.push(`${path} has an install script`);
  }
  return problems;
}

if (process.argv[1] !== undefined && import.meta.url === pathToFileURL(process.argv[1]).href) {
  const read = (name) => JSON.parse(readFileSync(`${root}/${name}`, "utf8"));
  const lock = read("package-lock.json");
  const problems = lockProblems(lock, read("package.json"));
  for (const problem of problems) process.stdout.write(`${problem}\n`);
  process.stdout.write(
    `${Object.keys(lock.packages).length - 1} packages: ${problems.length === 0 ? "licences, sums and sources as they should be" : `${problems.length} problems`}\n`,
  );
  process.exitCode = problems.length === 0 ? 0 : 1;
}
