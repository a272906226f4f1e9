import type { Browser } from "playwright-core";
import { afterAll, beforeAll, expect, test } from "vitest";
import type { WireShop } from "../../shared/wire-shop.ts";
import { openBrowser, PageRig } from "./page-rig.ts";

const PAGE = new URL("../../dist/web", import.meta.url).pathname;
let browser: Browser;
beforeAll(async () => {
  browser = await openBrowser();
});
afterAll(() => browser.close());

const here = { is: "here", title: null, job: null, stage: null, waitingFor: null } as const;
const shop = (): WireShop => ({
  shop: "tern-street",
  bench: "north",
  record: {
    reachable: false,
    because: "nothing answers there",
    waiting: 12,
    since: "2026-11-25T10:00:00.000Z",
    lastAt: "2026-11-25T09:58:00.000Z",
  },
  live: { reachable: true, because: null, ignored: 3 },
  benches: [
    { bench: "east", isThis: false, state: { is: "gone" }, feeds: [], feedsAgeMs: null, lastClass: null },
    {
      bench: "north",
      isThis: true,
      state: { ...here, output: "off", ageMs: 900 },
      feeds: [],
      feedsAgeMs: null,
      lastClass: null,
    },
    {
      bench: "south",
      isThis: false,
      state: {
        ...{ is: "here", output: "on", job: "0193f5a2-7c11-7a44-9d1e-5a6b7c8d9e01", title: "no picture" },
        ...{ stage: "watch", waitingFor: "the draw to settle", ageMs: 1500 },
      },
      feeds: [{ feed: "aux", output: "on", volts: 11.98, amps: 0.82 }],
      feedsAgeMs: 200,
      lastClass: "core-alive",
    },
    {
      bench: "west",
      isThis: false,
      state: { ...here, output: "on", ageMs: 400_000 },
      feeds: [],
      feedsAgeMs: null,
      lastClass: null,
    },
  ],
  jobs: [
    {
      ...{ id: "0193f5a2-7c11-7a44-9d1e-5a6b7c8d9e01", title: "no picture", bench: "south", stage: "on-bench" },
      ...{ result: null, state: "open", lastEventAt: "2026-11-25T10:00:00.000Z" },
    },
    {
      ...{ id: "0193f5a2-7c11-7a44-9d1e-5a6b7c8d9e02", title: "<b>fans</b>", bench: "north", stage: null },
      ...{ result: "passed", state: "done", lastEventAt: "2026-11-24T10:00:00.000Z" },
    },
  ],
});

test("the place Shop shows each bench with the age of what it said, what waits since when, and every bench's jobs", async () => {
  const rig = await PageRig.open(browser, PAGE);
  try {
    rig.facade.shop = async () => shop();
    await rig.visit();
    await rig.page.getByRole("tab", { name: "Shop" }).click();
    const benches = rig.page.getByRole("region", { name: "Benches", exact: true });
    const text = async () => (await benches.innerText()).replace(/\s+/g, " ");
    await rig.page.locator('[data-bench="south"]').waitFor();
    const said = await text();
    expect(said).toContain("east — not connected now");
    expect(said).toMatch(
      /south ● ON no picture · Watch · the draw to settle last draw: Core up, not running aux 11.98 V 0.820 A/,
    );
    // Six minutes old: marked by more than its colour, and its output is no longer stated flatly.
    expect(said).toMatch(/west \? ● ON no run ⚠ 7 min old/);
    const waiting = await rig.page.getByRole("region", { name: "What is waiting" }).innerText();
    expect(waiting).toContain("12 events and files wait, the oldest event since");
    expect(waiting).toContain("nothing answers there");
    expect(waiting).toContain("3 messages did not come from a bench");
    const jobs = rig.page.getByRole("region", { name: "Jobs of all benches" });
    expect(await jobs.innerText()).toContain("<b>fans</b>");
    await jobs.getByRole("button", { name: /no picture/ }).click();
    await rig.page.waitForURL(/5a6b7c8d9e01/);
    expect(await rig.page.getByRole("tab", { selected: true }).innerText()).toContain("Board");
    expect(rig.complaints).toEqual([]);
  } finally {
    await rig.close();
  }
});

test("a bench of no shop has no such place", async () => {
  const rig = await PageRig.open(browser, PAGE);
  try {
    await rig.visit();
    await rig.page.getByRole("tab", { name: "Compare" }).waitFor();
    await expect.poll(() => rig.requests.some((url) => url.endsWith("/api/shop"))).toBe(true);
    expect(await rig.page.getByRole("tab", { name: "Shop" }).count()).toBe(0);
    expect(await rig.page.getByRole("tab").count()).toBe(6);
    expect(rig.complaints).toEqual([]);
  } finally {
    await rig.close();
  }
});
