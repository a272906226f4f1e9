import { readdirSync, readFileSync } from "node:fs";
import { afterEach, describe, expect, test } from "vitest";
import { DrawClass } from "../../shared/draw-verdict.ts";
import { type RunOutcome, TripRule } from "../../shared/plan.ts";
import { classInWords } from "../../shared/words/class-words.ts";
import { nothingLearned } from "../../shared/words/nothing-learned.ts";
import { cursorWords, differenceWords, momentOf } from "../../web/plot/plot-words.ts";
import { inSteps } from "../../web/plot/round-step.ts";
import { classHeadline, className, nothingSentence } from "../../web/views/parts/draw-words.ts";
import { duration, fixed, momentText, voltsText } from "../../web/views/parts/figures.ts";
import { say } from "../../web/words/shell.ts";
import { local, sentences, speak, whenMoreIsSpoken } from "../../web/words/words.ts";
import { textsIn } from "./texts-in.ts";

const at = (path: string): URL => new URL(`../../web/${path}`, import.meta.url);
const read = (file: string): Record<string, string> => JSON.parse(readFileSync(at(`words/${file}`), "utf8"));
const FILES = readdirSync(at("words/"))
  .filter((file) => file.endsWith(".en.json"))
  .map((file) => file.replace(".en.json", ""));

const placeholders = (sentence: string): string[] => [...sentence.matchAll(/\{\w+\}/g)].map(String).sort();

afterEach(() => speak("en"));

describe("a file of sentences", () => {
  test.each(FILES)("%s has the same keys in English and German, in the same order", (file) => {
    expect(Object.keys(read(`${file}.de.json`))).toEqual(Object.keys(read(`${file}.en.json`)));
  });

  test.each(FILES)("%s has the same placeholders in English and German", (file) => {
    const [english, german] = [read(`${file}.en.json`), read(`${file}.de.json`)];
    for (const [key, sentence] of Object.entries(english))
      expect([key, placeholders(german[key] ?? "")]).toEqual([key, placeholders(sentence)]);
  });

  test.each(FILES.flatMap((file) => [`${file}.en.json`, `${file}.de.json`]))(
    "%s has keys of small letters and sentences of plain text",
    (file) => {
      for (const [key, sentence] of Object.entries(read(file))) {
        expect(key).toMatch(/^[a-z][A-Za-z0-9-]*(\.[A-Za-z0-9-]+)*$/);
        expect(typeof sentence).toBe("string");
        expect([key, sentence.trim().length > 0, /[<>]/.test(sentence)]).toEqual([key, true, false]);
      }
    },
  );

  test.each(FILES)("%s is translated: a sentence of several words is not the English one", (file) => {
    const german = read(`${file}.de.json`);
    for (const [key, sentence] of Object.entries(read(`${file}.en.json`)))
      if (/[a-z]+ [a-z]+ [a-z]+/.test(sentence)) expect([key, german[key]]).not.toEqual([key, sentence]);
  });
});

const SOURCES = readdirSync(at("."), { recursive: true })
  .map((file) => String(file).replaceAll("\\", "/"))
  .filter((file) => file.endsWith(".ts") && file !== "vite.config.ts");

describe("the page", () => {
  test("a text in a template, in an attribute and in a sentence is found", () => {
    const hole = "${";
    expect(textsIn(`const x = html\`<p>${hole}each}Look here</p>\`;`)).toEqual(["Look", "here"]);
    expect(
      textsIn(`const x = html\`<p title="Look">${hole}all.map((one) => html\`<b>${hole}one}</b>and</p>\`)}\`;`),
    ).toEqual(["and", "Look"]);
    expect(textsIn('const x = { word: "not done" }; // look here')).toEqual(["not", "done"]);
  });

  test.each(SOURCES)("%s has no text of its own", (file) => {
    expect(textsIn(readFileSync(at(file), "utf8"))).toEqual([]);
  });
});

describe("what the page says of a run in English is what the command line and the report say", () => {
  test("the class of a draw", () => {
    for (const name of DrawClass.options) {
      for (const said of [className(name), classHeadline(name)])
        expect(said.startsWith(classInWords(name)), said).toBe(true);
    }
    expect([className("overload"), className("core-alive")]).toEqual(["Overload", "Core up, not running"]);
  });

  test("a run that is no verdict on the board, whatever ended it", () => {
    const rules: (TripRule | null)[] = [...TripRule.options, null];
    for (const rule of rules)
      for (const endedBy of ["person", "bench"] as const) {
        const trip = rule === null ? null : { rule, stage: "watch" as const, feed: null, atMs: 0, because: "" };
        const outcome = { trip, endedBy } as Pick<RunOutcome, "trip" | "endedBy">;
        expect(nothingSentence(outcome)).toBe(nothingLearned(outcome));
      }
    expect(nothingSentence({ trip: null })).toBeNull();
  });
});

describe("in German", () => {
  test("what a part of the page brings while the language changes, or after it, is spoken in it too", async () => {
    const german = { default: { key: "Deutsch" } };
    let arrive = (): void => {};
    const slow = sentences(
      { key: "English" },
      () =>
        new Promise((done) => {
          arrive = () => done(german);
        }),
    );
    const changing = speak("de");
    const meanwhile = sentences({ key: "English" }, () => Promise.resolve(german));
    expect([slow("key"), meanwhile("key")]).toEqual(["English", "English"]);
    arrive();
    await changing;
    expect([slow("key"), meanwhile("key")]).toEqual(["Deutsch", "Deutsch"]);
    const drawn = new Promise<void>((done) => whenMoreIsSpoken(done));
    const later = sentences({ key: "English" }, () => Promise.resolve(german));
    await drawn;
    expect(later("key")).toBe("Deutsch");
    await speak("en");
    expect([slow("key"), meanwhile("key"), later("key")]).toEqual(["English", "English", "English"]);
  });

  test("a language that cannot be loaded is not spoken, and English asked for meanwhile stays", async () => {
    let isThere = false;
    const part = sentences({ key: "English" }, () =>
      isThere ? Promise.resolve({ default: { key: "Deutsch" } }) : Promise.reject(new Error("not there")),
    );
    await expect(speak("de")).rejects.toThrow("not there");
    expect([part("key"), local("1.5 V")]).toEqual(["English", "1.5 V"]);
    isThere = true;
    await Promise.all([speak("de"), speak("en")]);
    expect([part("key"), local("1.5 V")]).toEqual(["English", "1.5 V"]);
  });

  test("figures have a decimal comma, and durations, dates and clock as DIN 5008 and the CLDR have them (from memory)", async () => {
    expect([fixed(-1.25, 2), voltsText({ kind: "value", volts: 3.301 }), duration(1_240)]).toEqual([
      "−1.25",
      "3.301",
      "1.2 s",
    ]);
    await speak("de");
    expect([fixed(-1.25, 2), voltsText({ kind: "value", volts: 3.301 }), duration(1_240)]).toEqual([
      "−1,25",
      "3,301",
      "1,2 s",
    ]);
    expect(local("12.4 kΩ ± 0.31 kΩ")).toBe("12,4 kΩ ± 0,31 kΩ");
    expect(momentText(new Date(2026, 10, 29, 15, 4).toISOString())).toBe("29.11.2026, 15:04");
  });

  test("a plot has a comma at its axis, its cursor and its differences", async () => {
    await speak("de");
    const series = [{ name: "aux", seconds: [0, 1.5], mean: [0.5, 1.25], look: 0 }];
    const panes = [{ id: "amps", unit: "A", least: 0.1, series, bounds: [], band: null }];
    expect([inSteps(2.5, 0.5), momentOf(1.5, 2)]).toEqual(["2,5", "1,500 s"]);
    expect(cursorWords(panes, 1.5, 2)).toBe("1,500 s: aux 1,25 A");
    expect(differenceWords(panes, [0, 1.5], 2)).toBe("Ab 0,000 s, 1,500 s später: aux +750 mA");
  });

  test("a question says its limits with a comma, and a sentence that came from outside is not changed", async () => {
    await speak("de");
    expect(say("ask.raise", { feed: "aux", from: 2.5, to: 3 })).toBe(
      "Strombegrenzung von aux von 2,5 A auf 3 A erhöhen?",
    );
    expect(say("ask.open", { job: "K2 v1.2 {on}" })).toBe("Etwas ist ein. K2 v1.2 {on} trotzdem öffnen?");
  });
});
