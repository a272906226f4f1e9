import { readFile } from "node:fs/promises";
import { createRequire } from "node:module";
import { expect } from "vitest";
import { rig } from "./open-pages.ts";

/** Every violation of WCAG 2.2 AA that axe-core sees on the page as it stands, each with its place. */
export async function expectAccessible(state: string): Promise<void> {
  await rig.page.evaluate(await readFile(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8"));
  const violations = await rig.page.evaluate<string[]>(
    `axe.run(document, { runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"] }).then((found) =>
      found.violations.flatMap((each) => each.nodes.map((node) => each.id + " " + node.target.flat().join(" ") + " " + node.failureSummary)))`,
  );
  expect(violations, state).toEqual([]);
}
