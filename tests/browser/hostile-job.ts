import type { WireSnapshot } from "../../shared/wire.ts";
import type { WireJobSheet } from "../../shared/wire-job.ts";
import { exampleSnapshot } from "../wire/example-snapshot.ts";
import { exampleSheet } from "./example-job.ts";

/** As long as a title may be, without a place to break it. */
export const LONG_TITLE = "Kestrel".repeat(29).slice(0, 200);
const NOTE = ("no picture; burnt at Q12/L12, 0.35Ω. ".repeat(45) + "x".repeat(400)).slice(0, 2000);
const SERIAL = `<b>SN\u202e"'&%$/\\äöü${"9".repeat(120)}`;

/** A job with the longest words that a person can give it, and forty cold readings. */
export function hostileSheet(job: string): WireJobSheet {
  const sheet = exampleSheet(job);
  const event = (seq: number, kind: string, text: string): WireJobSheet["events"][number] => ({
    ...{ id: `hostile-${seq}`, seq, at: "2026-11-25T09:20:00.000Z", kind, text },
    ...{ file: null, correctable: kind === "note" },
  });
  const at = "2026-11-25T09:13:00.000Z";
  const cold = Array.from({ length: 40 }, (_, index) => {
    const expired = index % 6 === 0 ? "a repair was done after it" : null;
    return [`rail${index}`, { ohms: index === 4 ? ("open" as const) : 0.123456 * 10 ** (index % 7), at, expired }];
  });
  return {
    ...sheet,
    title: LONG_TITLE,
    board: LONG_TITLE.slice(0, 100),
    cold: Object.fromEntries(cold),
    events: [
      ...sheet.events,
      event(20, "note", NOTE),
      event(21, "intake", `Symptom: ${NOTE}\nSerial: ${SERIAL}`),
      event(22, "repair", NOTE),
    ],
  };
}

/** A bench with that board, and sixty jobs in its list. */
export function hostileSnapshot(): WireSnapshot {
  const snapshot = exampleSnapshot();
  const point = (index: number) => ({
    point: index % 7 === 3 ? `rail_of_a_long_name_${index}:other_of_a_long_name_${index}` : `rail${index}`,
    where: index % 5 === 0 ? `capacitor_C${index}_beside_the_inductor_L${index}_under_the_shield` : null,
    least: index % 3 === 0 ? null : 0.1 * index + 0.05,
    most: index % 4 === 0 ? 5_000_000 : null,
  });
  const job = (index: number): WireSnapshot["jobs"][number] => ({
    id: `0193f5a2-7c11-7a44-9d1e-5a6b7c8d${1000 + index}`,
    title: index % 3 === 0 ? LONG_TITLE : `job ${index}`,
    startedAt: "2026-11-25T09:12:00Z",
    class: index % 2 === 0 ? "standby-only" : null,
  });
  return {
    ...snapshot,
    board: {
      ...(snapshot.board as NonNullable<WireSnapshot["board"]>),
      name: LONG_TITLE.slice(0, 60),
      cold: Array.from({ length: 40 }, (_, index) => point(index)),
    },
    jobs: Array.from({ length: 60 }, (_, index) => job(index)),
  };
}
