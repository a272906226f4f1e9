import { expect, test } from "vitest";
import { runningSnapshot } from "./example-run.ts";
import { button, card, off, on, openPages, rig, seen, turnTo } from "./open-pages.ts";

openPages();

const inGerman = async (): Promise<void> => {
  await rig.page.getByText("Settings", { exact: true }).click();
  await rig.page.getByLabel("Language").selectOption("de");
  await seen("Einstellungen");
};

test("the page speaks German when it is asked to, keeps it through a reload, and loads it only then", async () => {
  await rig.visit();
  const german = (): string[] => rig.requests.filter((each) => /\.de-[\w-]+\.js$/.test(each));
  expect(german()).toEqual([]);
  await rig.saying(
    () => rig.facade.say(off()),
    async () => {
      await seen("Nothing is on");
      await inGerman();
      await seen("Alles ist aus");
      await rig.page.getByRole("tab", { name: /^Messen/ }).waitFor();
      expect(await rig.page.locator("html").getAttribute("lang")).toBe("de");
      expect(german().length).toBeGreaterThan(0);
      await rig.page.reload();
      await seen("Alles ist aus");
    },
  );
  expect(rig.complaints).toEqual([]);
});

test("in German a question, a figure and a limit have a decimal comma, and the safe answer still comes first", async () => {
  rig.facade.present = {
    ...runningSnapshot(),
    question: {
      question: 4,
      asks: "raise-limit",
      feed: "aux",
      fromAmps: 2.5,
      toAmps: 5,
      because: "It fell back twice.",
    },
  };
  await rig.visit();
  await inGerman();
  await button("Steuerung übernehmen").first().click();
  await rig.saying(
    () => rig.facade.say(on()),
    async () => {
      await seen("Strombegrenzung von aux von 2,5 A auf 5 A erhöhen?");
      await expect
        .poll(() => rig.page.getByRole("region", { name: "Einspeisung aux" }).innerText())
        .toMatch(/12,02[\s\S]*1,21/);
    },
  );
  const answers = rig.page.getByRole("alertdialog").getByRole("button");
  expect(await answers.allInnerTexts()).toEqual(["Nein: aus lassen", "aux auf 5 A erhöhen"]);
  await answers.first().click();
  expect(await rig.facade.asks("answer")).toMatchObject({ question: 4, yes: false });
});

test("a question mark beside a field opens its sentence by key, says so to a screen reader, and closes again", async () => {
  await rig.visit();
  await turnTo("Power");
  const help = rig.page
    .locator("start-form .asked", { hasText: "Fans" })
    .getByRole("button", { name: "Help with this field" });
  expect(await help.getAttribute("aria-expanded")).toBe("false");
  await help.focus();
  await rig.page.keyboard.press("Enter");
  expect(await help.getAttribute("aria-expanded")).toBe("true");
  const said = rig.page.locator("start-form .asked", { hasText: "Fans" }).getByRole("status");
  expect(await said.innerText()).toBe("Fans draw current of their own: the verdict must know whether they run.");
  await rig.page.keyboard.press("Space");
  expect(await help.getAttribute("aria-expanded")).toBe("false");
  // A key that opens help is no cut, and chooses nothing in the field.
  expect(rig.facade.asked).toEqual([]);
  expect(await rig.page.getByLabel("Fans").inputValue()).toBe("unknown");
});

test("the glossary has its words in the order of the language, and leads into a tour of the six places", async () => {
  await rig.visit();
  await rig.page.getByText("Words used here").click();
  const terms = rig.page.locator("glossary-card dt");
  const english = await terms.allInnerTexts();
  expect(english).toContain("Permit");
  expect(english).toEqual([...english].sort((one, other) => one.localeCompare(other, "en")));
  await button("Show me round").click();
  for (const [at, place] of ["Board", "Cold", "Power", "Probe", "Work", "Compare"].entries()) {
    await rig.page.getByRole("heading", { name: new RegExp(`^${place}: .* ${at + 1} of 6$`) }).waitFor();
    await rig.page.getByRole("tab", { name: new RegExp(`^${place}`), selected: true }).waitFor();
    if (at < 5) await button("Next").click();
  }
  expect(await button("Next").count()).toBe(0);
  await button("End the tour").click();
  expect(await rig.page.getByRole("region", { name: "Tour" }).count()).toBe(0);
  await card("aux").waitFor();
});
