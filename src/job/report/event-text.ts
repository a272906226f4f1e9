import type { StoredEvent } from "../../../shared/record/job.ts";
import { sayMs, sayOhms } from "../../../shared/words/amounts.ts";
import { classInSentence, railWord } from "../../../shared/words/class-words.ts";
import { counted } from "../../../shared/words/counted.ts";
import { nothingLearned } from "../../../shared/words/nothing-learned.ts";
import { figuresInWords } from "../../verdict/figures-in-words.ts";
import { railAmpsText } from "../../verdict/sweep/part-amps.ts";
import { ENDED_WORDS, SWEEP_ENDED_WORDS } from "./ended-words.ts";
import { cyclesText, hostLookText, hostTestText, startOrderText } from "./host-text.ts";
import { PURPOSE_WORDS } from "./owner-words.ts";

/** An event in a line or a few, for people. */
export function eventText(event: StoredEvent["event"]): string {
  switch (event.kind) {
    case "opened":
      return [event.title, event.board].filter((each) => each !== null).join(", ") || "opened";
    case "intake":
      return Object.entries(event)
        .filter(([key]) => key !== "kind")
        .map(
          ([key, value]) =>
            `${INTAKE_WORDS[key] ?? key}: ${typeof value === "boolean" ? (value ? "yes" : "no") : value}`,
        )
        .join("\n");
    case "note":
      return event.of === undefined ? event.text : `at ${(event.of.atMs / 1000).toFixed(3)} s of a run: ${event.text}`;
    case "attachment":
      return `${event.name} (${event.mediaType}, ${counted(event.bytes, "byte")}${event.by === "phone" ? ", by phone" : ""})${event.caption === null ? "" : `: ${event.caption}`}`;
    case "lead-null":
      return `leads nulled at ${sayOhms(event.ohms)}`;
    case "cold-readings":
      return Object.entries(event.ohms)
        .map(([point, ohms]) => `${point} ${ohms === "open" ? "open" : sayOhms(ohms)}`)
        .concat(event.by === "hand" ? "typed in by hand" : "read from the meter")
        .join(", ");
    case "sweep-started":
      return `${event.cold ? "cold sweep" : "sweep under power"} of ${counted(event.points.length, "point")} of ${event.board}, ${event.meter === null ? "values typed in" : `read by ${event.meter.identity}`}`;
    case "sweep-rail":
      return `${railWord(event.rail)}: ${event.rail.because.join("; ")}`;
    case "sweep-ended":
      return [
        SWEEP_ENDED_WORDS[event.ended],
        ...event.because,
        ...event.neverPower,
        ...(event.alike?.because ?? []),
        ...(event.railAmps ?? []).map(railAmpsText),
      ].join("; ");
    case "run-started":
      return `${PURPOSE_WORDS[event.header.purpose]} of ${event.header.plan.feeds.map((feed) => feed.feed).join(", ")}`;
    case "run-events":
      return event.events
        .flatMap((each) => (each.event === "mark" ? [`${each.text}, ${sayMs(each.atMs)} after the run began`] : []))
        .concat(
          event.events.some((each) => each.event === "mark")
            ? []
            : [`${counted(event.events.length, "event")} of the run`],
        )
        .join("; ");
    case "run-ended":
      return [
        `${ENDED_WORDS[event.end.outcome.ended]}, output ${event.end.outcome.output}, ${event.end.verdict === null ? (nothingLearned(event.end.outcome) ?? "no verdict") : classInSentence(event.end.verdict.class)}`,
        ...(event.end.verdict === null ? [] : figuresInWords(event.end.verdict)),
      ].join(", ");
    case "repair":
      return [event.text, ...event.parts.map((part) => `${part.name} ${part.place ?? ""} (${part.source})`)].join("\n");
    case "result":
      return event.text === null ? event.result : `${event.result}: ${event.text}`;
    case "stage":
      return event.text === null ? event.stage : `${event.stage}: ${event.text}`;
    case "imported":
      return `${counted(event.events, "event")} imported from ${event.file} (${counted(event.bytes, "byte")}, SHA-256 ${event.sha256}); named in it: ${event.by.join(", ")}. The file is not signed, so nothing proves who wrote them`;
    case "report-made":
      return `${event.name}, SHA-256 ${event.sha256}`;
    case "host-look":
      return hostLookText(event);
    case "test":
      return hostTestText(event.test);
    case "start-order":
      return startOrderText(event.result);
    case "firmware":
      return [`firmware image: ${event.verdict.word.replaceAll("-", " ")}`, ...event.verdict.because].join("\n");
    case "cycles":
      return cyclesText(event.result);
    case "answer":
      return `${event.to}: ${event.answer}`;
    case "incident":
      return `${event.text} (output ${event.output})`;
    case "correction":
      return `${event.because}\nIt should read: ${eventText(event.event)}`;
  }
}

const INTAKE_WORDS: Record<string, string> = {
  owner: "Owner",
  ownersWords: "In the owner's words",
  symptom: "Symptom",
  since: "Since",
  tried: "Tried before",
  liquid: "Liquid",
  dropped: "Dropped",
  repairedBefore: "Repaired before",
  serialNumber: "Serial number",
  cameWith: "Came with",
  approvedUpTo: "Approved up to",
};
