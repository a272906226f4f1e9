import { readdir, readFile } from "node:fs/promises";
import { fileURLToPath } from "node:url";
import { gzipSync } from "node:zlib";
import { describe, expect, test } from "vitest";
import { hashOf } from "../../web/page/address.ts";
import { openPages, rig } from "./open-pages.ts";
import { expectAccessible } from "./page-axe.ts";
import { SCENE_JOB, SCENES } from "./page-scenes.ts";

openPages();

/** What may be sent as script, bytes after gzip: before anything is shown, and in all with both languages. */
const MOST_FIRST_BYTES = 90_000;
const MOST_SCRIPT_BYTES = 175_000;

describe("every place", () => {
  test("has no violation that axe-core can see at 200 %, and in forced colours", async () => {
    for (const scene of SCENES) {
      rig.facade.present = scene.present();
      if (rig.page.url() === "about:blank") await rig.visit();
      await rig.page.goto(`${rig.wire.url.split("#")[0]}${hashOf(SCENE_JOB, scene.place)}`);
      await rig.page.reload();
      await rig.page.locator('.phase[data-phase="live"]').waitFor();
      // 1280 by 800 at 200 %.
      await rig.page.setViewportSize({ width: 640, height: 400 });
      await expectAccessible(`${scene.name} at 200 %`);
      await rig.page.setViewportSize({ width: 1280, height: 800 });
      await rig.page.emulateMedia({ forcedColors: "active" });
      await expectAccessible(`${scene.name} in forced colours`);
      await rig.page.emulateMedia({ forcedColors: "none" });
    }
  }, 300_000);
});

test("what the figures and the cut wait for is at most 90 kB of script after gzip, and all of it, in both languages, 175 kB", async () => {
  const folder = fileURLToPath(new URL("../../dist/web/", import.meta.url));
  const sizeOf = async (file: string): Promise<number> => gzipSync(await readFile(`${folder}${file}`)).length;
  const head = await readFile(`${folder}index.html`, "utf8");
  const first = [...head.matchAll(/(?:src|href)="\/?([^"]+\.js)"/g)].map(([, file = ""]) => file);
  // The form for phones is a page of its own.
  const form = await readFile(`${folder}phone.html`, "utf8");
  const all = (await readdir(`${folder}assets/`)).filter((each) => each.endsWith(".js") && !form.includes(each));
  expect(first.length).toBeGreaterThan(0);
  const sum = async (files: string[]): Promise<number> =>
    (await Promise.all(files.map(sizeOf))).reduce((total, each) => total + each, 0);
  expect(await sum(first)).toBeLessThanOrEqual(MOST_FIRST_BYTES);
  expect(await sum(all.map((each) => `assets/${each}`))).toBeLessThanOrEqual(MOST_SCRIPT_BYTES);
});
