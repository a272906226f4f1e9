import { readFileSync } from "node:fs";
import { expect, test } from "vitest";
import { hashOf } from "../../web/page/address.ts";
import type { Place } from "../../web/record/places.ts";
import { examplePreview, exampleSnapshot } from "../wire/example-snapshot.ts";
import { scriptedSetup } from "../wire/scripted-setup.ts";
import { button, cuts, openPages, rig, seen, turnTo } from "./open-pages.ts";
import { expectAccessible } from "./page-axe.ts";
import { SCENE_JOB } from "./page-scenes.ts";

openPages();

const SENTENCES: Record<string, string> = JSON.parse(
  readFileSync(new URL("../../web/words/help.en.json", import.meta.url), "utf8"),
);
const MOST_STOPS = 200;

/** The element with the focus, through all shadow roots: which help it is, beside which field, what it says, and whether the walk is over. */
const STOP = `(() => {
  let at = document.activeElement;
  let host = null;
  while (at?.shadowRoot?.activeElement) { host = at; at = at.shadowRoot.activeElement; }
  let area = null;
  for (let up = at; up && area === null; up = up.parentElement ?? up.getRootNode().host ?? null)
    if (up.matches?.(".work, .side")) area = up.className;
  const isHelp = host?.localName === "field-help";
  return {
    area,
    about: isHelp ? host.about : null,
    field: isHelp ? host.parentElement.textContent.replace(/\\s+/g, " ").trim() : "",
    expanded: at?.getAttribute("aria-expanded") ?? null,
    said: isHelp ? host.shadowRoot.querySelector('[role="status"]').textContent.trim() : "",
  };
})()`;
interface Stop {
  area: string | null;
  about: string | null;
  field: string;
  expanded: string | null;
  said: string;
}
const stop = (): Promise<Stop> => rig.page.evaluate<Stop>(STOP);
const shownHelps = (): Promise<number> => rig.page.locator("field-help button").filter({ visible: true }).count();
/** Opens every fold that is seen; the names of the helps that are seen then. */
async function unfolded(): Promise<string[]> {
  for (const fold of await rig.page.locator("main details:not([open]) > summary").all())
    if (await fold.isVisible()) await fold.click();
  const all = rig.page.locator("field-help button").filter({ visible: true });
  return await all.evaluateAll((buttons) =>
    buttons.map((each) => String(Reflect.get(Reflect.get(each.getRootNode(), "host"), "about"))),
  );
}

/**
 * Goes through the place by Tab once these helps have come, and opens, reads and closes each "?" on the way by keys alone; answers with
 * those it met, each once, by name.
 */
async function walk(awaited: string[]): Promise<string[]> {
  const { keyboard } = rig.page;
  const helps: string[] = [];
  await expect.poll(unfolded).toEqual(expect.arrayContaining(awaited));
  await rig.page.getByRole("tabpanel").focus();
  for (let stops = 0; stops < MOST_STOPS; stops++) {
    await keyboard.press("Tab");
    const before = await stop();
    if (before.area === null) break;
    if (before.about === null) continue;
    helps.push(before.about);
    expect([before.about, before.expanded, before.said]).toEqual([before.about, "false", ""]);
    const cutBefore = cuts();
    await keyboard.press("Enter");
    const opened = await stop();
    expect([opened.about, opened.expanded, opened.said]).toEqual([before.about, "true", SENTENCES[before.about]]);
    // The sentence says more than the label that stands there anyway.
    expect(opened.field).not.toContain(opened.said);
    expect(opened.field.length).toBeGreaterThan(2);
    await keyboard.press("Space");
    expect((await stop()).expanded).toBe("false");
    await keyboard.press("Enter");
    expect([(await stop()).expanded, cuts()]).toEqual(["true", cutBefore]);
    await keyboard.press("Escape");
    const closed = await stop();
    expect([closed.about, closed.expanded, closed.said]).toEqual([before.about, "false", ""]);
  }
  expect(helps.length, "every help that is seen was met by Tab").toBe(await shownHelps());
  return [...new Set(helps)].sort();
}

async function openAt(job: string | null, place: Place): Promise<void> {
  await rig.page.goto(`${rig.page.url().split("#")[0]}${hashOf(job, place)}`);
  await rig.page.reload();
  await rig.page.locator('.phase[data-phase="live"]').waitFor();
}

async function accessibleWithAllOpen(place: string): Promise<void> {
  for (const help of await rig.page.locator("field-help button").filter({ visible: true }).all()) await help.click();
  await expectAccessible(`${place} with every help open`);
}

const of = {
  Board: ["title", "symptom", "ownersWords", "tried", "owner", "serialNumber", "since", "cameWith", "approvedUpTo"],
  Cold: ["cold", "others"],
  Power: [
    ...["polarityChecked", "commonReturn", "sidebandStrapped", "pairsUnplugged"],
    ...["host", "fans", "cooler", "watch", "keep-on", "file"],
  ],
  Work: ["repair", "note", "photo"],
  permit: ["waiver", "note", "photo"],
  setUp: ["address", "feed", "channel", "where"],
};

test("each sentence of help has its place", () => {
  const sentences = Object.keys(SENTENCES).filter((key) => key !== "help");
  expect([...new Set(Object.values(of).flat())].sort()).toEqual(sentences.sort());
  expect(new Set(Object.values(SENTENCES)).size).toBe(Object.keys(SENTENCES).length);
});

test.each(["Board", "Cold", "Power", "Work"] as const)(
  "at %s each help is opened, read and closed by keys alone, and passes axe",
  async (place) => {
    await rig.visit();
    // A repair belongs to a job; the others are asked before there is one.
    if (place === "Work") await openAt(SCENE_JOB, "work");
    else await turnTo(place);
    expect(await walk(of[place])).toEqual(of[place].toSorted());
    await accessibleWithAllOpen(place);
  },
);

test("the permit and a note have help that is opened, read and closed by keys alone", async () => {
  rig.facade.reply = async (command) =>
    command.type === "preview" ? { result: "preview", preview: examplePreview() } : { result: "done" };
  await rig.visit();
  await openAt(SCENE_JOB, "power");
  await button("Take control").first().click();
  await button("Check the permit").click();
  await seen("What will be energised");
  await rig.page
    .getByRole("checkbox", { name: /go on without it/ })
    .first()
    .check();
  expect(await walk(of.permit)).toEqual(of.permit.toSorted());
  await accessibleWithAllOpen("the permit");
});

test("the first set-up has help that is opened, read and closed by keys alone", async () => {
  const found = { identity: "BENCH,SUPPLY,1,1", serialNumber: "1", kind: "supply" as const, driver: "plain-supply" };
  Object.assign(rig.facade.setup, {
    ...scriptedSetup({ bench: "none", file: null, ports: [{ address: "ASRL/dev/ttyS0::INSTR", words: "" }] }),
    look: async (address: string) => ({ address, words: "", ...found, describes: null, why: [], problem: null }),
  });
  const { bench, ...rest } = exampleSnapshot();
  rig.facade.present = { ...rest, jobs: [], bench: { ...bench, simulated: false, feeds: [], instruments: [] } };
  await rig.visit();
  await openAt(null, "board");
  await button(/ask who is there/).click();
  await rig.page.getByLabel("Feed", { exact: true }).waitFor();
  const both = [...of.Board, ...of.setUp].sort();
  expect(await walk(both)).toEqual(both);
  await accessibleWithAllOpen("the first set-up");
});

test("Escape in an open help closes it and cuts, as Escape does everywhere; the focus stays where it was", async () => {
  await rig.visit();
  await turnTo("Power");
  const help = rig.page.locator("start-form field-help button").first();
  await help.focus();
  await rig.page.keyboard.press("Enter");
  expect(cuts()).toBe(0);
  await rig.page.keyboard.press("Escape");
  await expect.poll(() => help.getAttribute("aria-expanded")).toBe("false");
  // Once by each of the two ways of every cut.
  await expect.poll(cuts).toBe(2);
  expect((await stop()).about).toBe("polarityChecked");
});
