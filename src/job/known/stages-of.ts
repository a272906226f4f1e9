import type { JobStage, StoredEvent } from "../../../shared/record/job.ts";
import { currentEvents } from "../store/current-events.ts";

/** A stage that a job was in, by the wall clocks of the benches that filed it. */
export interface StageTime {
  stage: JobStage;
  text: string | null;
  since: string;
  /** Milliseconds in it, up to the next stage or to now; null for the hand-back, which has no end. */
  lastedMs: number | null;
}

/** The stages of a job in their order, with the time in each; `nowMs` is wall clock. */
export function stagesOf(log: readonly StoredEvent[], nowMs: number): StageTime[] {
  const entered = currentEvents(log).flatMap(({ event, recordedAt }) =>
    event.kind === "stage" ? [{ stage: event.stage, text: event.text, since: recordedAt }] : [],
  );
  return entered.map((each, index) => {
    const next = entered[index + 1];
    const end = next === undefined ? nowMs : Date.parse(next.since);
    const isOver = next === undefined && each.stage === "handed-back";
    return { ...each, lastedMs: isOver ? null : Math.max(0, end - Date.parse(each.since)) };
  });
}
