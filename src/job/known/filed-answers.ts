import { type JobEventOf, type StoredEvent, TAKEN_BACK } from "../../../shared/record/job.ts";
import { currentEvents } from "../store/current-events.ts";

/** An answer that counts, and the entry that it stands in. */
export type FiledAnswer = Pick<JobEventOf<"answer">, "to" | "answer"> & { entry: string };

/** The answers since the last repair that count: the latest to each check, as it reads after its corrections; those taken back are left out. */
export function filedAnswers(log: readonly StoredEvent[]): FiledAnswer[] {
  const events = currentEvents(log);
  const since = events.slice(events.findLastIndex(({ event }) => event.kind === "repair") + 1);
  const answers = new Map<string, FiledAnswer>();
  for (const { id, event } of since) {
    if (event.kind !== "answer" || event.answer === TAKEN_BACK) continue;
    const { to, answer } = event;
    answers.set(to, { entry: id, to, answer });
  }
  return [...answers.values()];
}
