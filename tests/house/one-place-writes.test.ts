import { readdirSync, readFileSync } from "node:fs";
import path from "node:path";
import { expect, test } from "vitest";

const root = path.resolve(import.meta.dirname, "../..");
const THE_PLACE = "src/command/text/people.ts";
/** A program of its own, carried to another computer in one file; it says what that computer's kernel says. */
const CARRIED = "src/host/stick.ts";
/** A way to a terminal; a reader of standard input that is given an output draws on it too. */
const WRITES = /process\s*\.\s*(?:stdout|stderr)\s*\.\s*write|\bconsole\s*\.|\bprocess\.(?:stdout|stderr)\b(?=\s*[,)])/;
/** Draws the last row of a question, which the place has made visible, and takes the answer. */
const QUESTIONS = "src/command/power/ask-line.ts";

test("nothing but one file writes to standard output or standard error", () => {
  const files = readdirSync(path.join(root, "src"), { recursive: true, encoding: "utf8" })
    .filter((file) => file.endsWith(".ts"))
    .map((file) => path.join("src", file));
  const writers = files.filter((file) => WRITES.test(readFileSync(path.join(root, file), "utf8")));
  expect(writers.sort()).toEqual([THE_PLACE, CARRIED]);
  const drawers = files.filter((file) => /output: process\./.test(readFileSync(path.join(root, file), "utf8")));
  expect(drawers.sort()).toEqual([QUESTIONS, CARRIED]);
});
