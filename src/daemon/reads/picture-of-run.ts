import type { WireReading, WireRun, WireSnapshot } from "../../../shared/wire.ts";
import { advance } from "../../plan/machine/advance.ts";
import { describeState } from "../../plan/machine/describe-state.ts";
import { energisedFeeds, initialState } from "../../plan/machine/machine-state.ts";
import { outcomeOf } from "../../plan/machine/outcome.ts";
import { pictureAt, pictureEnded, runPicture } from "../../wire/run-picture.ts";
import { NO_SETTINGS, settingsAfter, settingsEnded } from "../../wire/settings-in-force.ts";
import { TraceRing } from "../page/trace-ring.ts";
import { wireReading } from "../page/wire-reading.ts";
import { accuracyOf, LIVE_ROWS, RunFolding } from "../run/run-fold.ts";
import type { OpenRun } from "../run/stored-run.ts";
import { taskLines } from "../run/task-lines.ts";

/** So many events are looked at before the daemon's other work has its turn: a few milliseconds of them. */
const SLICE = 2_000;

/**
 * A run that is over, as the page draws it: its stages with their times, and each feed's readings, thinned. A day of readings takes
 * seconds; outputs may be on meanwhile, so that a late beat or cut is not one of the prices.
 */
export async function pictureOfRun(
  run: OpenRun,
  job: string,
): Promise<{ picture: WireRun; trace: WireSnapshot["trace"] }> {
  const { plan } = run.header;
  const ring = new TraceRing();
  let slice = new Map<string, WireReading[]>();
  let picture = runPicture(plan, { run: run.header.run, job, startedAt: run.header.startedAt }, run.header.baseline);
  // Only a soak says something that rests on its readings.
  const folding = run.header.purpose === "soak" ? new RunFolding(plan, LIVE_ROWS) : null;
  let settings = NO_SETTINGS;
  let state = initialState(plan);
  let seen = "";
  let count = 0;
  let lastMs = 0;
  const hand = (): void => {
    for (const [feed, readings] of slice) ring.add(feed, readings);
    slice = new Map();
  };
  for (const event of run.events()) {
    if (++count % SLICE === 0) {
      hand();
      await new Promise((resolve) => setImmediate(resolve));
    }
    const { atMs } = event;
    lastMs = atMs;
    folding?.take(event);
    state = advance(plan, state, event).state;
    settings = settingsAfter(settings, event);
    if (event.event === "reading") {
      const list = slice.get(event.reading.feed) ?? [];
      list.push(wireReading(event.reading));
      slice.set(event.reading.feed, list);
    }
    const { stage, feed, waitingFor, sinceMs, expectedMs } = describeState(plan, state);
    if (`${stage} ${feed}` === seen) continue;
    seen = `${stage} ${feed}`;
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
  hand();
  picture = { ...picture, settings: settingsEnded(settings, lastMs).spans };
  const outcome = run.end?.outcome ?? outcomeOf(state);
  const told = taskLines(run.header, outcome, () => folding?.traces(accuracyOf(run.header)) ?? []);
  return {
    picture: { ...pictureEnded(picture, outcome, lastMs), ...(told.length === 0 ? {} : { told }) },
    trace: ring.list(),
  };
}
