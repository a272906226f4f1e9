import { describe, expect, test } from "vitest";
import { hashOf } from "../../web/page/address.ts";
import type { Place } from "../../web/record/places.ts";
import { exampleSnapshot } from "../wire/example-snapshot.ts";
import { runningSnapshot } from "./example-run.ts";
import { hostileSheet, hostileSnapshot } from "./hostile-job.ts";
import { button, on, openPages, rig } from "./open-pages.ts";
import { EXAMPLE_SHOP, enterScene, inGerman, SCENE_JOB, SCENES } from "./page-scenes.ts";

openPages();

const PLACES: Place[] = ["board", "cold", "power", "probe", "work", "compare", "shop"];
const PHONE = { width: 390, height: 844 };
/** A finger's breadth, CSS pixels. */
const TOUCH_PX = 44;

async function turnToPlace(place: Place): Promise<void> {
  await rig.page.goto(`${rig.page.url().split("#")[0]}${hashOf(SCENE_JOB, place)}`);
  await rig.page.locator(`places-bar [data-place="${place}"][aria-selected="true"]`).waitFor();
}

/** Every element of the page, through each shadow root, for which `holds` (source of a function of element and box) is true, by its name and box. */
const partsWhere = (holds: string): Promise<string[]> =>
  rig.page.evaluate(`(() => {
    const found = [];
    const look = (root, host) => {
      for (const each of root.querySelectorAll("*")) {
        if (each.shadowRoot !== null) look(each.shadowRoot, each);
        const box = each.getBoundingClientRect();
        if (box.width < 2 || box.height < 2 || !each.checkVisibility({ visibilityProperty: true })) continue;
        if ((${holds})(each, box))
          found.push((host?.localName ?? "") + " " + each.localName + "." + each.className + " " + each.textContent.trim().slice(0, 20) + " " + [box.left, box.right, box.height].map(Math.round));
      }
    };
    look(document, null);
    return [...new Set(found)];
  })()`);

describe("content that wants to be wide", () => {
  test.each([390, 640, 1280, 2560])(
    "stays within its card in every place at %i px: a title without a space, long notes, forty cold readings",
    async (width) => {
      rig.facade.present = hostileSnapshot();
      rig.facade.shop = async () => ({ ...EXAMPLE_SHOP, shop: hostileSheet(SCENE_JOB).title ?? "" });
      rig.desk.sheet = async (job) => hostileSheet(job);
      await rig.page.setViewportSize({ width, height: 844 });
      await rig.visit();
      for (const place of PLACES) {
        await turnToPlace(place);
        expect(await rig.page.evaluate<number>("document.documentElement.scrollWidth"), place).toBeLessThanOrEqual(
          width,
        );
        // A part that is cut by what scrolls around it makes that wider inside than out.
        const wide = `(each) => each.matches(".work, .side, .card, table, form") && each.scrollWidth > each.clientWidth + 1`;
        expect(await partsWhere(wide), place).toEqual([]);
        const outside = `(each, box) => each.matches("button, input, select, textarea, summary") && (box.left < 0 || box.right > innerWidth)`;
        expect(await partsWhere(outside), place).toEqual([]);
      }
    },
  );

  test("leaves the job its name in the head beside a long name of the board", async () => {
    rig.facade.present = hostileSnapshot();
    rig.desk.sheet = async (job) => hostileSheet(job);
    await rig.visit();
    await turnToPlace("cold");
    const widthOf = async (part: string): Promise<number> =>
      (await rig.page.locator(`page-head ${part}`).boundingBox())?.width ?? 0;
    expect(await widthOf(".job")).toBeGreaterThan(await widthOf(".board"));
  });

  test("sixty jobs do not push the rest of Board away: six are shown, the others when they are asked for", async () => {
    rig.facade.present = hostileSnapshot();
    await rig.visit();
    await turnToPlace("board");
    const rows = rig.page.locator("job-finder .list button");
    await expect.poll(() => rows.count()).toBe(6);
    await button("Show all 60 jobs").click();
    await expect.poll(() => rows.count()).toBe(60);
    expect(await rows.nth(6).evaluate((each) => each.matches(":focus"))).toBe(true);
    expect(await button(/^Show all/).count()).toBe(0);
  });
});

describe("on a phone", () => {
  test("the settings lie within the screen, in German as well, where their head begins a line of its own", async () => {
    rig.facade.present = exampleSnapshot();
    await rig.visit();
    await inGerman(rig);
    await rig.page.setViewportSize(PHONE);
    await rig.page.locator("page-head summary").first().click();
    const box = await rig.page.locator("page-head .fold").boundingBox();
    expect(box).not.toBeNull();
    expect(box?.x).toBeGreaterThanOrEqual(0);
    expect((box?.x ?? 0) + (box?.width ?? 0)).toBeLessThanOrEqual(PHONE.width);
    expect(box?.width).toBeGreaterThan(PHONE.width * 0.8);
  });

  test("every control is 44 px high, a checkbox with its words; a place's help is felt above it too", async () => {
    rig.facade.present = exampleSnapshot();
    rig.facade.shop = async () => EXAMPLE_SHOP;
    await rig.page.setViewportSize(PHONE);
    await rig.visit();
    await rig.page.locator("page-head summary").first().click();
    const low = `(each, box) => each.matches('button, select, summary, textarea, input:not([type="checkbox"], [type="radio"]), .check') && each.getRootNode().host?.localName !== "field-help" && box.height < ${TOUCH_PX}`;
    expect(await partsWhere(low)).toEqual([]);
    await rig.page.locator("page-head summary").first().click();
    for (const place of PLACES) {
      await turnToPlace(place);
      expect(await partsWhere(low), place).toEqual([]);
    }
    await turnToPlace("work");
    const help = rig.page.locator("work-view field-help button");
    await help.scrollIntoViewIfNeeded();
    const box = (await help.boundingBox()) ?? { x: 0, y: 0, width: 0, height: 0 };
    await rig.page.mouse.click(box.x + box.width / 2, box.y - 10);
    await expect.poll(() => help.getAttribute("aria-expanded")).toBe("true");
  });

  test("each place can be touched over the whole bar: no gap lies between two", async () => {
    rig.facade.present = exampleSnapshot();
    await rig.page.setViewportSize(PHONE);
    await rig.visit();
    const boxes = await rig.page
      .locator('places-bar [role="tab"]')
      .evaluateAll((all) =>
        all.map((each) => each.getBoundingClientRect()).map(({ left, right }) => ({ left, right })),
      );
    for (const [index, { left }] of boxes.entries())
      if (index > 0) expect(left - (boxes[index - 1]?.right ?? 0)).toBeLessThan(4);
    expect(Math.min(...boxes.map(({ left, right }) => right - left))).toBeGreaterThan(30);
  });

  test("each cell of a cold point says what it is, since no head stands above it", async () => {
    rig.facade.present = exampleSnapshot();
    await rig.page.setViewportSize(PHONE);
    await rig.visit();
    await turnToPlace("cold");
    await rig.page.locator("cold-view tbody tr").first().waitFor();
    const said = await rig.page.evaluate<string[]>(`(() => {
      const cold = document.querySelector("bench-page").shadowRoot.querySelector("cold-view").shadowRoot;
      return [...cold.querySelector("tbody tr").cells].map((each) => getComputedStyle(each, "::before").content);
    })()`);
    expect(said).toEqual(["none", '"Healthy"', '"Filed"', '"Reading, Ω"']);
  });

  test("what to do next leads a place while nothing is on, and comes after the work while something is", async () => {
    rig.facade.present = exampleSnapshot();
    await rig.page.setViewportSize(PHONE);
    await rig.visit();
    await turnToPlace("work");
    const topOf = async (part: string): Promise<number> =>
      (await rig.page.locator(part).first().boundingBox())?.y ?? Number.NaN;
    expect(await topOf("side-notes .next")).toBeLessThan(await topOf("work-view .card"));
    rig.facade.present = runningSnapshot();
    await rig.page.reload();
    await rig.saying(
      () => rig.facade.say(on()),
      async () => {
        await rig.page.locator('side-notes .next[data-first="no"]').waitFor();
        expect(await topOf("side-notes .next")).toBeGreaterThan(await topOf("main .work"));
      },
    );
  });
});

test("the source of a part is read in whole at every width, in both languages", async () => {
  await enterScene(rig, SCENES.find(({ name }) => name === "work") as (typeof SCENES)[number]);
  for (const language of ["en", "de"] as const) {
    if (language === "de") await inGerman(rig);
    await rig.page.locator('work-view select[name="source"]').first().waitFor();
    for (const width of [390, 640, 1280, 2560]) {
      await rig.page.setViewportSize({ width, height: 844 });
      const { is, wants } = await rig.page.evaluate<{ is: number; wants: number }>(`(() => {
        const work = document.querySelector("bench-page").shadowRoot.querySelector("work-view").shadowRoot;
        const each = work.querySelector('select[name="source"]');
        const is = each.getBoundingClientRect().width;
        each.style.cssText = "flex: none; width: max-content";
        const wants = each.getBoundingClientRect().width;
        each.style.cssText = "";
        return { is, wants };
      })()`);
      expect(is, `${language} at ${width}`).toBeGreaterThanOrEqual(wants - 1);
    }
  }
});

test.each([390, 640, 1280])(
  "the time that a run has waited stands whole in the dock at %i px, in both languages",
  async (width) => {
    rig.facade.present = runningSnapshot();
    await rig.page.setViewportSize({ width, height: 844 });
    await rig.visit();
    const cutShort = `(each, box) => each.matches(".waits > .times") && box.right > each.parentElement.getBoundingClientRect().right + 1`;
    for (const turn of [async () => {}, () => inGerman(rig)]) {
      await turn();
      await rig.page.locator("cut-dock .times").waitFor();
      expect(await partsWhere(cutShort)).toEqual([]);
    }
  },
);
