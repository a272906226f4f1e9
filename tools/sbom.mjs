/**
 * `npm run sbom [-- FILE]`: what the program is made of at run time, as CycloneDX 1.5 (ECMA-424) from the lock file alone, by npm's own
 * `sbom`. The network is not used.
 */
import { spawnSync } from "node:child_process";
import { readFileSync, writeFileSync } from "node:fs";
import path from "node:path";
import { root } from "./root.mjs";

const npm = spawnSync("npm", ["sbom", "--sbom-format", "cyclonedx", "--package-lock-only", "--offline"], {
  cwd: root,
  encoding: "utf8",
  maxBuffer: 64 * 1024 * 1024,
});
if (npm.status !== 0) {
  process.stderr.write(`npm sbom failed: ${npm.stderr || String(npm.error)}\n`);
  process.exit(1);
}
const bom = JSON.parse(npm.stdout);
// npm calls it by the folder it lies in, and counts a program as a library.
const read = (name) => JSON.parse(readFileSync(path.join(root, name), "utf8"));
Object.assign(bom.metadata.component, { name: read("package.json").name, type: "application" });
// npm's own --omit=dev also leaves out what the program shares with a tool; the lock file says what only tools have.
const atRunTime = new Set(
  Object.entries(read("package-lock.json").packages).flatMap(([place, { version, dev }]) =>
    dev === true ? [] : [`${place.split("node_modules/").at(-1)}@${version}`],
  ),
);
bom.components = bom.components.filter(({ purl }) =>
  atRunTime.has(decodeURIComponent(purl.replace("pkg:npm/", "").replace(/\?.*$/, ""))),
);
const kept = new Set([bom.metadata.component["bom-ref"], ...bom.components.map((each) => each["bom-ref"])]);
bom.dependencies = bom.dependencies
  .filter(({ ref }) => kept.has(ref))
  .map(({ ref, dependsOn = [] }) => ({ ref, dependsOn: dependsOn.filter((each) => kept.has(each)) }));
const text = `${JSON.stringify(bom, null, 2)}\n`;
const [file] = process.argv.slice(2);
if (file === undefined) process.stdout.write(text);
else {
  writeFileSync(file, text);
  process.stdout.write(`${bom.components.length} components written to ${file}\n`);
}
