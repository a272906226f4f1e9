import { mkdir, stat } from "node:fs/promises";
import { fileURLToPath } from "node:url";
import { describe, expect, test } from "vitest";
import { openPages, rig } from "./open-pages.ts";
import { enterScene, inGerman, SCENES, type Scene } from "./page-scenes.ts";

openPages();

const FOLDER = fileURLToPath(new URL("../../dist/pictures/", import.meta.url));
const SIZES = [
  { wide: 390, high: 844 },
  { wide: 1280, high: 800 },
  { wide: 2560, high: 1440 },
];
const SCREENS = (["en", "de"] as const).flatMap((language) => SIZES.map((size) => ({ ...size, language })));

async function enter(scene: Scene): Promise<void> {
  await mkdir(FOLDER, { recursive: true });
  await enterScene(rig, scene);
}

/** Pictures of every place are looked at by eyes: only `npm run pictures` takes them. */
const TAKES_PICTURES = process.env["FIRSTAMP_PICTURES"] === "all";
/** Settles when what follows a new size has been drawn. */
const drawn = (): Promise<unknown> =>
  rig.page.evaluate("new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))");

/** Tests at every size what a picture must never show. */
describe("the page at", () => {
  for (const scene of SCENES) {
    test(`${scene.name}, at every width in both languages: nothing beyond the edge, the cut and the state in sight`, async () => {
      await enter(scene);
      const { says } = scene;
      const timer = says === undefined ? undefined : setInterval(() => says(rig), 60);
      // The page is looked at in every size before one is complained of.
      const wrong: string[] = [];
      try {
        for (const { wide, high, language } of SCREENS) {
          if (language === "de" && wide === SCREENS[0]?.wide) await inGerman(rig);
          await rig.page.setViewportSize({ width: wide, height: high });
          if (says !== undefined) await rig.page.locator('feed-strip [data-live="yes"]').first().waitFor();
          const path = `${FOLDER}${scene.name}-${wide}${language === "en" ? "" : `-${language}`}.png`;
          if (TAKES_PICTURES) await rig.page.screenshot({ path, animations: "disabled" });
          else await drawn();
          const reach = await rig.page.evaluate<number>("document.documentElement.scrollWidth");
          if (reach > wide) wrong.push(`at ${wide}, ${language}, the page is ${reach} wide`);
          for (const part of ["cut-dock .cut", "cut-dock .power"]) {
            const box = await rig.page.locator(part).boundingBox();
            if (box === null || box.x < 0 || box.x + box.width > wide + 1 || box.y + box.height > high + 1)
              wrong.push(`at ${wide}, ${language}, ${part} lies at ${JSON.stringify(box)}`);
          }
        }
      } finally {
        clearInterval(timer);
      }
      expect(wrong).toEqual([]);
    });
  }
});

/** Those of the README, which `npm run pictures` copies to docs/pictures: small, since every reader loads them. */
describe("a picture of the README", () => {
  const MOST_BYTES = 150_000;
  const sceneOf = (name: string): Scene => SCENES.find((each) => each.name === name) as Scene;

  test.each([
    { place: "power", picture: "page" },
    { place: "probe", picture: "probe" },
  ])("shows the place $place while a board is on, and a page is in control", async ({ place, picture }) => {
    await rig.page.setViewportSize({ width: 1100, height: 690 });
    await enter(sceneOf(place));
    await rig.page.getByRole("button", { name: "Take control" }).first().click();
    const timer = setInterval(() => sceneOf("power").says?.(rig), 60);
    await rig.page.locator('feed-strip [data-live="yes"]').first().waitFor();
    const path = `${FOLDER}readme-${picture}.png`;
    await rig.page.screenshot({ path, animations: "disabled" }).finally(() => clearInterval(timer));
    expect((await stat(path)).size).toBeLessThan(MOST_BYTES);
  });

  test("shows a verdict", async () => {
    await rig.page.setViewportSize({ width: 1180, height: 1000 });
    await enter(sceneOf("verdict"));
    const path = `${FOLDER}readme-verdict.png`;
    await rig.page.locator("verdict-card").first().screenshot({ path, animations: "disabled" });
    expect((await stat(path)).size).toBeLessThan(MOST_BYTES);
  });
});
