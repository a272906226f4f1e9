import type { FirmwareImage } from "../../../shared/record/firmware-image.ts";
import { HostChange, HostLook } from "../../../shared/record/host-look.ts";
import type { HostTest } from "../../../shared/record/host-test.ts";
import { isLspciText, lookFromLspci } from "../../host/lspci-text.ts";
import { firmwareImageOf } from "../../verdict/firmware/expansion-rom.ts";
import { testsIn } from "./tests-in.ts";

/** The kind of an attached file. */
export type Recognised =
  | { is: "host-look"; look: HostLook; changes: HostChange[] }
  | { is: "firmware"; image: FirmwareImage }
  | { is: "trace" }
  | { is: "tests"; tests: HostTest[] }
  | { is: "damaged-tests"; because: string }
  | { is: "nothing" };

export type FileKind = "host" | "firmware" | "trace" | "tests" | "plain";

/** Smaller blank files are no dump of a memory chip. */
const LEAST_CHIP_BYTES = 4096;
/** The number of characters of a text that are looked at to see a line of names. */
const HEAD_BYTES = 64 * 1024;
const NAMES = /^[^\n]*\b(?:time|time_s|t)\b[^\n]*[,;\t][^\n]*$/im;

/**
 * Tells by its content whether a file is a host look (the document of `host-look`, the lines of its watch, the text of lspci), results
 * of tests done elsewhere, a dump of firmware, or a trace with a time column; `as` says it where a person does. Never by its name.
 */
export function recogniseFile(bytes: Uint8Array, mediaType: string, as: FileKind | null): Recognised {
  if (as === "plain") return { is: "nothing" };
  if (as === "firmware") return { is: "firmware", image: firmwareImageOf(bytes) };
  if (as === "trace") return { is: "trace" };
  if (as === "host") return hostLookIn(textOf(bytes)) ?? { is: "nothing" };
  if (as === "tests") return resultsIn(textOf(bytes), { isAsked: true });
  if (mediaType === "application/octet-stream") {
    const image = firmwareImageOf(bytes);
    const isDump = image.images.length > 0 || (image.blank !== null && bytes.length >= LEAST_CHIP_BYTES);
    return isDump ? { is: "firmware", image } : { is: "nothing" };
  }
  if (mediaType !== "text/plain") return { is: "nothing" };
  const head = textOf(bytes.subarray(0, HEAD_BYTES));
  if (/^\s*[[{]/.test(head) || isLspciText(head)) {
    const whole = textOf(bytes);
    return hostLookIn(whole) ?? resultsIn(whole);
  }
  return NAMES.test(head) ? { is: "trace" } : { is: "nothing" };
}

const textOf = (bytes: Uint8Array): string => new TextDecoder().decode(bytes);

function resultsIn(text: string, how: { isAsked?: boolean } = {}): Recognised {
  const tests = testsIn(text, how);
  if (tests === null) return { is: "nothing" };
  return typeof tests === "string" ? { is: "damaged-tests", because: tests } : { is: "tests", tests };
}

function hostLookIn(text: string): Extract<Recognised, { is: "host-look" }> | null {
  const start = text.replace(/^\uFEFF/, "").trimStart();
  if (!start.startsWith("{")) {
    const look = isLspciText(text) ? lookFromLspci(text) : null;
    return look === null ? null : { is: "host-look", look, changes: [] };
  }
  const whole = jsonOf(start);
  const single = HostLook.safeParse(whole);
  if (single.success) return { is: "host-look", look: single.data, changes: [] };
  // A watch: the document in the first line, a change in each line after it; the last may be cut off.
  const [first = "", ...rest] = start.split(/\r?\n/).filter((line) => line.trim() !== "");
  const look = HostLook.safeParse(jsonOf(first));
  if (!look.success) return null;
  const changes = rest.flatMap((line) => {
    const change = HostChange.safeParse(jsonOf(line));
    return change.success ? [change.data] : [];
  });
  return { is: "host-look", look: look.data, changes: changes.slice(0, 10_000) };
}

function jsonOf(text: string): unknown {
  try {
    return JSON.parse(text);
  } catch {
    return null;
  }
}
