import { readdir, readFile } from "node:fs/promises";
import { fileURLToPath } from "node:url";
import { gzipSync } from "node:zlib";
import { describe, expect, test } from "vitest";
import { hashOf } from "../../web/page/address.ts";
import { openPages, rig } from "./open-pages.ts";
import { expectAccessible } from "./page-axe.ts";
import { SCENE_JOB, SCENES } from "./page-scenes.ts";

openPages();

/** What may be sent as script, bytes after gzip. */
const MOST_SCRIPT_BYTES = 90_000;

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
  });
});

test("the script of the page is at most 90 kB after gzip", async () => {
  const folder = fileURLToPath(new URL("../../dist/web/assets/", import.meta.url));
  const scripts = (await readdir(folder)).filter((each) => each.endsWith(".js"));
  const sizes = await Promise.all(scripts.map(async (each) => gzipSync(await readFile(`${folder}${each}`)).length));
  expect(sizes.reduce((sum, each) => sum + each, 0)).toBeLessThanOrEqual(MOST_SCRIPT_BYTES);
});
