import type { WireReading, WireRun } from "../../../shared/wire.ts";
import { advance } from "../../plan/machine/advance.ts";
import { describeState } from "../../plan/machine/describe-state.ts";
import { energisedFeeds, initialState } from "../../plan/machine/machine-state.ts";
import { outcomeOf } from "../../plan/machine/outcome.ts";
import { pictureAt, pictureEnded, runPicture } from "../../wire/run-picture.ts";
import { NO_SETTINGS, settingsAfter, settingsEnded } from "../../wire/settings-in-force.ts";
import { accuracyOf, foldRun } from "../run/run-fold.ts";
import type { StoredRun } from "../run/stored-run.ts";
import { taskLines } from "../run/task-lines.ts";
import { wireReading } from "./wire-reading.ts";

/** A run that is over, as the page draws it: its stages with their times, and each feed's readings. */
export function pictureOfRun(run: StoredRun, job: string): { picture: WireRun; trace: Map<string, WireReading[]> } {
  const { plan } = run.header;
  const trace = new Map<string, WireReading[]>();
  let picture = runPicture(plan, { run: run.header.run, job, startedAt: run.header.startedAt }, run.header.baseline);
  let settings = NO_SETTINGS;
  let state = initialState(plan);
  let seen = "";
  for (const event of run.events) {
    state = advance(plan, state, event).state;
    settings = settingsAfter(settings, event);
    if (event.event === "reading") {
      const list = trace.get(event.reading.feed) ?? [];
      list.push(wireReading(event.reading));
      trace.set(event.reading.feed, list);
    }
    const { stage, feed, waitingFor, sinceMs, expectedMs } = describeState(plan, state);
    if (`${stage} ${feed}` === seen) continue;
    seen = `${stage} ${feed}`;
    const { atMs } = event;
    picture = pictureAt(picture, {
      atMs,
      stage,
      feed,
      waitingFor,
      waitedMs: Math.max(0, atMs - sinceMs),
      expectedMs,
      energised: energisedFeeds(state),
    });
  }
  const atMs = run.events.at(-1)?.atMs ?? 0;
  picture = { ...picture, settings: settingsEnded(settings, atMs).spans };
  const outcome = run.end?.outcome ?? outcomeOf(state);
  const told = taskLines(run.header, outcome, () => foldRun(plan, run.events, accuracyOf(run.header)).traces);
  return { picture: { ...pictureEnded(picture, outcome, atMs), ...(told.length === 0 ? {} : { told }) }, trace };
}
