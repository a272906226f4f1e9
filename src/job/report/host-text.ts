import type { CyclesResult } from "../../../shared/record/cycles.ts";
import type { HostWord } from "../../../shared/record/host-look.ts";
import type { HostTest } from "../../../shared/record/host-test.ts";
import type { JobEventOf } from "../../../shared/record/job.ts";
import type { StartOrder } from "../../../shared/record/start-order.ts";
import { sayMs } from "../../../shared/words/amounts.ts";
import { counted } from "../../../shared/words/counted.ts";

/** The host's word in plain words, to stand beside what the draw says. */
export const HOST_WORDS: Record<HostWord, string> = {
  enumerated: "listed by the host",
  "narrow-or-slow": "listed by the host, but its link is narrower or slower than it should be",
  "errors-growing": "listed by the host, but its errors keep increasing",
  "firmware-doubtful": "listed by the host, with doubtful firmware",
  "driver-not-bound": "listed by the host, but no driver uses it",
  "not-listed": "not listed by the host",
  "link-but-not-listed": "not listed by the host, although its link is up",
  "no-link": "not listed by the host: it has no link",
  "presence-not-asserted": "not listed by the host: its slot looks empty",
  "fell-off": "disappeared from the host's bus",
  "cannot-tell": "what the host reports does not decide",
};

/** A look in a few lines: what was looked at, the word and what it rests on. */
export function hostLookText({ of, verdict, look, changes }: JobEventOf<"host-look">): string {
  const what = `${counted(look.devices.length, "device")}${changes.length > 0 ? `, ${counted(changes.length, "change")} during the watch` : ""}`;
  if (of === "control") return `host look with a known good card (${what})`;
  return [
    `${HOST_WORDS[verdict.word]} (${what})`,
    ...verdict.because,
    ...(verdict.notTried.length > 0 ? [`Not tried: ${verdict.notTried.join("; ")}.`] : []),
  ].join("\n");
}

/** A test done elsewhere in one line. */
export function hostTestText(test: HostTest): string {
  const { name, result, passed, of, minutes, addresses, hottest, text, by, doneAt } = test;
  return [
    `${name}: ${result}`,
    ...(passed !== undefined && of !== undefined ? [`${passed} of ${of}`] : []),
    ...(minutes === undefined ? [] : [`${minutes} min`]),
    ...(hottest === undefined ? [] : [`hottest ${hottest.celsius} °C at ${hottest.where}`]),
    ...(addresses === undefined || addresses.length === 0 ? [] : [`fails at ${addresses.join(", ")}`]),
    ...(text === null ? [] : [text]),
    ...(by === null ? [] : [`by ${by}`]),
    ...(doneAt === null ? [] : [`done ${doneAt.slice(0, 16).replace("T", " ")}`]),
  ].join(", ");
}

/** A start in a few lines: the order, then what is wrong. */
export function startOrderText({ order, rails, problems }: StartOrder): string {
  const begun = order.map((name) => {
    const { beginsMs } = rails[name] ?? {};
    return beginsMs == null ? name : `${name} ${sayMs(beginsMs)}`;
  });
  return [
    `start: ${begun.join(", ") || "no rail came up"}`,
    ...(problems.length === 0 ? ["no fault seen"] : problems),
  ].join("\n");
}

/** Many starts in one line. */
export function cyclesText({ cycles, clean, failureShareBelow, host, endedBy, because }: CyclesResult): string {
  const bound =
    failureShareBelow === null
      ? ""
      : `; with 95 % confidence, at most ${(100 * failureShareBelow).toFixed(1)} % of its starts fail`;
  const words = Object.entries(host ?? {}).map(([word, count]) => `${count} × ${wordText(word)}`);
  const said = words.length === 0 ? "" : `; the host: ${words.join(", ")}`;
  return `${clean} of ${counted(cycles, "start")} clean${bound}${said}${endedBy === "plan" ? "" : `; ended by the ${endedBy}: ${because}`}`;
}

const wordText = (word: string): string => (Object.hasOwn(HOST_WORDS, word) ? HOST_WORDS[word as HostWord] : word);
