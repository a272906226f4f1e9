import { expect, test } from "vitest";
import { examplePreview } from "../wire/example-snapshot.ts";
import { exampleSheet } from "./example-job.ts";
import { openPages, rig } from "./open-pages.ts";
import { EXAMPLE_SHOP, enterScene, inGerman, SCENE_JOB, SCENES } from "./page-scenes.ts";

openPages();

/**
 * Every text that the page shows, with its names for a screen reader, through all shadow roots. What is marked as English is left
 * out: it is the daemon's own word, told as it came.
 */
const TEXTS = `(() => {
  const found = new Set();
  const visit = (node, isEnglish) => {
    if (node.nodeType === Node.TEXT_NODE) { if (!isEnglish) found.add(node.data); return; }
    if (node.nodeType !== Node.ELEMENT_NODE) { for (const child of node.childNodes) visit(child, isEnglish); return; }
    if (node.localName === "style" || node.localName === "script" || !node.checkVisibility()) return;
    if (node.localName === "details") node.open = true;
    const here = node.lang === "" ? isEnglish : node.lang === "en";
    if (!here) for (const name of ["aria-label", "placeholder", "title", "alt", "aria-valuetext"]) if (node.hasAttribute(name)) found.add(node.getAttribute(name));
    for (const child of (node.shadowRoot ?? node).childNodes) visit(child, here);
  };
  visit(document.body, false);
  return [...found].map((each) => each.replace(/\\s+/g, " ").trim()).filter((each) => /\\p{L}{3}/u.test(each)).sort();
})()`;

/** Once nothing more comes: a fold that opens asks for what is in it. */
async function textsShown(): Promise<string[]> {
  let before: string[] = [];
  await expect
    .poll(
      async () => {
        const now = await rig.page.evaluate<string[]>(TEXTS);
        const isSame = now.length === before.length;
        before = now;
        return isSame;
      },
      { interval: 300, timeout: 20_000 },
    )
    .toBe(true);
  return before;
}

/** The same in both languages: names, and words that German took over. */
const SAME = new Set(["firstamp", "English", "Deutsch", "Block", "Starts", "Sense", "Firmware", "core, soc"]);

/**
 * Turns the page to German and waits until no text stands there as it stood in English, but for what came from the daemon. The words
 * of each place come by themselves, so a busy page changes part by part.
 */
async function expectAllTranslated(): Promise<void> {
  const english = await textsShown();
  await inGerman(rig);
  // What the daemon says, and what people wrote, is not the page's to translate.
  const asked = [await rig.facade.setup.view(), await rig.desk.compare("a", "b")];
  const said = JSON.stringify([rig.facade.present, exampleSheet(SCENE_JOB), examplePreview(), EXAMPLE_SHOP, ...asked]);
  const data = said.replaceAll("\\n", " ");
  const isData = (text: string): boolean => data.includes(JSON.stringify(text).slice(1, -1));
  const isListOfData = (text: string): boolean => text.split(", ").every(isData);
  expect(english.length).toBeGreaterThan(30);
  const untranslated = async (): Promise<string[]> => {
    const german = new Set(await textsShown());
    return english.filter((text) => german.has(text) && !SAME.has(text) && !isListOfData(text));
  };
  await expect.poll(untranslated, { timeout: 20_000 }).toEqual([]);
}

test.each(SCENES.filter(({ name }) => name !== "question" && name !== "alarm"))(
  "$name has no text that is English only",
  async (scene) => {
    await enterScene(rig, scene);
    const { says } = scene;
    const timer = says === undefined ? undefined : setInterval(() => says(rig), 60);
    try {
      await expectAllTranslated();
    } finally {
      clearInterval(timer);
    }
  },
);
