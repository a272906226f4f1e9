import { spawnSync } from "node:child_process";
import { readFileSync } from "node:fs";
import path from "node:path";
import { expect, test } from "vitest";

interface Entry {
  license?: string;
  integrity?: string;
  resolved?: string;
  dev?: boolean;
  hasInstallScript?: boolean;
}
type Lock = { lockfileVersion: number; packages: Record<string, Entry> };

const root = path.resolve(import.meta.dirname, "../..");
const { lockProblems } = (await import(path.join(root, "tools/licences.mjs"))) as {
  lockProblems(lock: Lock, own: object): string[];
};
const own = JSON.parse(readFileSync(path.join(root, "package.json"), "utf8")) as object;
const lock = JSON.parse(readFileSync(path.join(root, "package-lock.json"), "utf8")) as Lock;
const changed = (change: Entry): Lock => {
  const zod = lock.packages["node_modules/zod"];
  return { ...lock, packages: { ...lock.packages, "node_modules/zod": { ...zod, ...change } } };
};

test("the lock file has each package's sum, and none under a licence that the program cannot be handed out with", () => {
  expect(lockProblems(lock, own)).toEqual([]);
});

test.each<[string, Entry]>([
  ["another licence", { license: "GPL-3.0-only" }],
  ["a weaker sum", { integrity: "sha1-2jmj7l5rSw0yVb/vlWAYkK/YBwk=" }],
  ["another source", { resolved: "git+https://git.example/zod.git" }],
  ["an install script", { hasInstallScript: true }],
])("%s is found", (_, change) => {
  expect(lockProblems(changed(change), own)).toHaveLength(1);
});

/** CycloneDX 1.5 (ECMA-424 is its successor): bomFormat, specVersion, components each with a package URL. */
test("the bill of materials names what the lock file has for run time, and nothing of the tests", () => {
  const { stdout } = spawnSync(process.execPath, [path.join(root, "tools/sbom.mjs")], { encoding: "utf8" });
  const bom = JSON.parse(stdout) as { bomFormat: string; specVersion: string; components: { purl: string }[] };
  expect([bom.bomFormat, bom.specVersion]).toEqual(["CycloneDX", "1.5"]);
  const named = bom.components.map((each) =>
    each.purl.replace(/^pkg:npm\/(.*)@.*$/, (_, name: string) => decodeURIComponent(name)),
  );
  for (const needed of ["zod", "fastify", "kysely", "serialport", "ws"]) expect(named).toContain(needed);
  for (const tool of ["vitest", "typescript", "knip"]) expect(named).not.toContain(tool);
});
