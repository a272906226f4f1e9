import type { DrawClass, DrawVerdict, OverloadKind } from "../draw-verdict.ts";
import type { RailVerdictWord, SweepRail } from "../sweep.ts";

/** The class of a draw in words for the owner of a board. "Normal" speaks of the draw, never of the board as a whole. */
export const CLASS_FOR_OWNER: Record<DrawClass, string> = {
  "open-input": "The board takes no current: something between the connector and the first converters is open.",
  "dead-short": "The input is shorted: current flows already at less than one volt.",
  overload: "The board draws more than the limit allows before it can start.",
  retrying: "The board tries to start, gives up, and tries again.",
  "standby-only": "Only the standby part of the board draws current; the main converters do not start.",
  "partly-up": "A part of the board starts; the rest does not.",
  "core-alive":
    "The main converters start and the core draws current. Whether the board works in a host was not part of this test.",
  normal:
    "The board draws what good boards of its kind draw under these conditions. This is a statement about the current only.",
  creeping: "The current keeps rising although the board has nothing to do: something heats up or leaks.",
  "cannot-tell": "The readings do not decide what the draw means.",
};

/** An overload of a kind in words for the owner of a board; one of an unknown kind in those of its class. */
const OVERLOAD_FOR_OWNER: Partial<Record<OverloadKind, string>> = {
  ohmic: "An input conducts like a resistor, where a good board hardly conducts at all.",
  junction: "An input conducts like a diode, where a good board hardly conducts at all.",
  "over-demand": "The board draws more current than a good board of its kind.",
  leaky: "The current is too high and keeps rising: something leaks.",
  "start-loop": "The board starts, breaks down under its own load, and starts again.",
};

/** A draw in words for the owner of a board, by its kind where it has one. */
export const drawForOwner = ({ class: name, sub }: Pick<DrawVerdict, "class" | "sub">): string =>
  (sub === undefined ? undefined : OVERLOAD_FOR_OWNER[sub]) ?? CLASS_FOR_OWNER[name];

/** The verdict on a point in words (ILAC-G8:09/2019, 4.2.3). */
const RAIL_WORDS: Record<RailVerdictWord, string> = {
  pass: "pass",
  "conditional-pass": "pass within the meter's error",
  "conditional-fail": "fail within the meter's error",
  fail: "fail",
  "not-measured": "not measured",
};

/** The words for a value: its verdict, or the words that stand in its place. */
export const railWord = ({ verdict, said }: Pick<SweepRail, "verdict" | "said">): string => said ?? RAIL_WORDS[verdict];

const CLASS_NAMES: Record<DrawClass, string> = {
  "open-input": "Open input",
  "dead-short": "Dead short",
  overload: "Overload",
  retrying: "Retrying",
  "standby-only": "Standby only",
  "partly-up": "Partly up",
  "core-alive": "Core up, not running",
  normal: "Normal draw",
  creeping: "Creeping",
  "cannot-tell": "Cannot tell",
};

const KIND_NAMES: Record<OverloadKind, string> = {
  ohmic: "conducts like a resistor",
  junction: "conducts like a diode",
  "over-demand": "draws more than it should",
  leaky: "leaks",
  "start-loop": "starts again and again",
  unknown: "of an unknown kind",
};

/** The kind of an overload in a line of text. */
export const kindInWords = (kind: OverloadKind): string => KIND_NAMES[kind];

/** The name of a class of draw in a sentence: "core up, not running". */
export const classInSentence = (name: string): string => {
  const words = classInWords(name);
  return `${words.charAt(0).toLowerCase()}${words.slice(1)}`;
};

/** The name of a class of draw in a line of text; JSON and CSV have the identifier. One this program does not know stays as it is. */
export const classInWords = (name: string): string =>
  Object.hasOwn(CLASS_NAMES, name) ? CLASS_NAMES[name as DrawClass] : name;
