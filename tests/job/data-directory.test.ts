import { homedir } from "node:os";
import { join, resolve } from "node:path";
import { expect, test } from "vitest";
import { dataDirectory } from "../../src/command/input/data-directory.ts";

test("the flag comes before the environment, the environment before the default", () => {
  const environment = { FIRSTAMP_DATA: "/from/environment", XDG_DATA_HOME: "/xdg" };
  expect(dataDirectory("/from/flag", environment, "linux")).toBe("/from/flag");
  expect(dataDirectory(undefined, environment, "linux")).toBe("/from/environment");
  expect(dataDirectory(undefined, { XDG_DATA_HOME: "/xdg" }, "linux")).toBe("/xdg/firstamp");
});

test("$XDG_DATA_HOME that is empty or relative counts as ~/.local/share (XDG Base Directory Specification)", () => {
  const usual = join(homedir(), ".local", "share", "firstamp");
  for (const value of ["", "relative/path", undefined]) {
    expect(dataDirectory(undefined, value === undefined ? {} : { XDG_DATA_HOME: value }, "linux")).toBe(usual);
  }
});

test("an empty FIRSTAMP_DATA counts as not given, and a relative one is made absolute", () => {
  expect(dataDirectory(undefined, { FIRSTAMP_DATA: "", XDG_DATA_HOME: "/xdg" }, "linux")).toBe("/xdg/firstamp");
  expect(dataDirectory(undefined, { FIRSTAMP_DATA: "here" }, "linux")).toBe(resolve("here"));
});

test("other systems have their own places", () => {
  expect(dataDirectory(undefined, {}, "darwin")).toBe(join(homedir(), "Library", "Application Support", "firstamp"));
  expect(dataDirectory(undefined, { LOCALAPPDATA: "/local" }, "win32")).toBe(join("/local", "firstamp"));
});
