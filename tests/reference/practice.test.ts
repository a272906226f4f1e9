import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import { BoardFile } from "../../shared/files/board-file.ts";
import { diagnosed, KESTREL, topOf } from "../verdict/diagnosis-bench.ts";
import { TWENTY_FOUR_VOLT_SHEETS } from "./practice-24v.ts";
import { CARD_SHEETS } from "./practice-card.ts";
import { LAPTOP_SHEETS } from "./practice-laptop.ts";
import { OTHER_BOARDS } from "./practice-others.ts";
import type { PracticeSheet } from "./practice-sheet.ts";

const boardOf = (name: string): BoardFile =>
  BoardFile.parse(JSON.parse(readFileSync(new URL(`../../scenarios/boards/${name}.json`, import.meta.url), "utf8")));

const SHEETS: [string, BoardFile, readonly PracticeSheet[]][] = [
  ["a card", KESTREL, CARD_SHEETS],
  ["a board like a laptop's", boardOf("plover-p5"), LAPTOP_SHEETS],
  ["a board on a single 24 V supply", boardOf("dunlin-d24"), TWENTY_FOUR_VOLT_SHEETS],
  ...OTHER_BOARDS,
];

// Every answer is common practice of the trade, no source.
describe.each(SHEETS)("what a technician says of %s", (_, board, sheets) => {
  it.each(sheets.map((sheet): [string, PracticeSheet] => [sheet.seen, sheet]))("%s", (_seen, sheet) => {
    const diagnosis = diagnosed(sheet.readings, { board });
    const top = topOf(diagnosis);
    if (sheet.first !== undefined) expect(sheet.first).toContain(top);
    expect(sheet.never ?? []).not.toContain(top);
    if (sheet.power === "open") expect(diagnosis.held).toBeNull();
    if (sheet.power === "held") {
      expect(diagnosis.held).not.toBeNull();
      expect(diagnosis.next.filter((each) => each.energises)).toEqual([]);
    }
    const proposed = diagnosis.next.map((each) => each.measure);
    const wanted = sheet.next;
    if (wanted !== undefined) expect(proposed.slice(0, 3).some((each) => wanted.includes(each))).toBe(true);
    expect((sheet.notNext ?? []).filter((each) => proposed.includes(each))).toEqual([]);
  });
});

it("there are at least sixty sheets", () => {
  expect(SHEETS.reduce((sum, [, , sheets]) => sum + sheets.length, 0)).toBeGreaterThanOrEqual(60);
});
