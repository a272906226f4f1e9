import { readFile } from "node:fs/promises";
import { beforeAll, describe, expect, it } from "vitest";
import { BenchError, type BenchErrorCode } from "../../shared/bench-error.ts";
import { EXIT, exitCodeOf } from "../../src/command/input/exit-code.ts";

/** Every code, with the exit code it stands for where nothing was energised; the type keeps the list whole. */
const CODES: Record<BenchErrorCode, number> = {
  "bad-input": EXIT.badInput,
  "unknown-driver": EXIT.badInput,
  "two-drivers": EXIT.badInput,
  "bad-address": EXIT.badInput,
  "data-not-writable": EXIT.badInput,
  "data-in-use": EXIT.badInput,
  "disk-full": EXIT.badInput,
  "no-such-port": EXIT.nothingAnswered,
  "no-permission": EXIT.nothingAnswered,
  "port-in-use": EXIT.nothingAnswered,
  "connection-refused": EXIT.nothingAnswered,
  "link-closed": EXIT.nothingAnswered,
  "write-late": EXIT.failed,
  "no-reply": EXIT.nothingAnswered,
  "bad-reply": EXIT.nothingAnswered,
  "wrong-identity": EXIT.badInput,
  "suspect-link": EXIT.nothingAnswered,
  "setting-refused": EXIT.failed,
  "output-unknown": EXIT.outputUnknown,
  "bench-process-lost": EXIT.failed,
  "bad-message": EXIT.failed,
};
const codes = Object.keys(CODES) as BenchErrorCode[];

describe("docs/errors.md", () => {
  let sections: Map<string, string>;
  beforeAll(async () => {
    const text = await readFile(new URL("../../docs/errors.md", import.meta.url), "utf8");
    const parts = text.split(/^### /m).slice(1);
    sections = new Map(parts.map((part) => [part.slice(0, part.indexOf("\n")), part]));
  });

  it.each(codes)("says of %s what it means, what the program does, and what you do", (code) => {
    const section = sections.get(code) ?? "";
    for (const part of ["*Meaning.*", "*The program*", "*You*"]) expect(section).toContain(part);
  });

  it.each(codes)("names the exit code of %s where nothing was energised", (code) => {
    const exit = CODES[code];
    expect(sections.get(code)).toMatch(new RegExp(`\\b(with |\\()${exit}\\b`));
  });

  it("has no heading for a code that is none", () => {
    expect([...sections.keys()].sort()).toEqual([...codes].sort());
  });
});

describe("exitCodeOf", () => {
  it.each(codes)("of %s is the one its heading gives", (code) => {
    expect(exitCodeOf(new BenchError(code, "a test"))).toBe(CODES[code]);
  });

  it("is 4 whatever the code, where the output is not known", () => {
    for (const code of codes)
      expect(exitCodeOf(new BenchError(code, "a test", { detail: { output: "unknown" } }))).toBe(4);
  });

  it("is 1 for an unexpected error", () => {
    expect(exitCodeOf(new Error("a test"))).toBe(1);
  });
});
