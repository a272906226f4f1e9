import type { DrawVerdict } from "../../../shared/draw-verdict.ts";
import type { BenchQuestion } from "../../../shared/ipc.ts";
import type { RunOutcome } from "../../../shared/plan.ts";
import { type FeedReading, voltsOf } from "../../../shared/reading.ts";
import type { BenchProcess } from "../../daemon/process/bench-process.ts";
import type { ActiveRun, RunResult } from "../../daemon/run/active-run.ts";
import { LiveLine, say, sayAloud } from "../text/people.ts";
import { runLine } from "../text/run-line.ts";
import { askYesNo } from "./ask-yes-no.ts";
import { marksByLines } from "./marks-by-lines.ts";

export interface FollowedRun {
  result: RunResult;
  /** Whether the draw was judged while the outputs stayed on, so that its document is out already. */
  wasHeld: boolean;
}

/** Volts on a feed that is off from which on it is shown: more is back-feed. */
const SHOWN_VOLTS = 0.3;

/** Shows a run while it lasts: what it waits for, alarms, questions. Settles when it has ended. */
export async function followRun(options: {
  run: ActiveRun;
  client: BenchProcess;
  /** Called once, where the outputs stay on after the watch. */
  onHolding: (verdict: DrawVerdict, outcome: RunOutcome) => void;
  /** Called whenever something has come of the run, before the line is shown; answers with whether it said something. */
  onNews?: (run: ActiveRun, energised: readonly string[]) => boolean;
  /** The question about a higher limit, where it is not that of a power-up's ladder. */
  raiseText?: (asked: BenchQuestion) => string;
}): Promise<FollowedRun> {
  const { run, client } = options;
  const line = new LiveLine();
  const over = new AbortController();
  let wasHeld = false;
  let questions = 0;
  const endMarks = marksByLines(run, () => questions > 0);
  showProgress(run, line, options.onNews);
  const onAlarm = ({ message }: { message: string }): void => {
    line.end();
    sayAloud(`ALARM: ${message}`);
  };
  const onProblem = ({ problem }: { problem: { message: string } }): void => {
    line.end();
    say(`note: ${problem.message}`);
  };
  const onQuestion = (asked: BenchQuestion): void => {
    line.end();
    const text = asked.asks === "raise-limit" ? (options.raiseText ?? questionText)(asked) : questionText(asked);
    questions++;
    void askYesNo(text, over.signal).then((yes) => {
      questions--;
      if (!over.signal.aborted)
        client.answer(asked.question, yes).catch((cause: Error) => say(`note: ${cause.message}`));
    });
  };
  const onNote = (note: string): void => {
    line.end();
    say(`note: ${note}`);
  };
  const onLost = (why: string): void => {
    line.end();
    say(`${why}; the guardian switches off what was on`);
  };
  client.on("alarm", onAlarm);
  client.on("lost", onLost);
  client.on("note", onNote);
  client.on("problem", onProblem);
  client.on("question", onQuestion);
  run.on("holding", (verdict, outcome) => {
    wasHeld = true;
    line.end();
    options.onHolding(verdict, outcome);
  });
  const result = await run.done;
  over.abort();
  endMarks();
  line.end();
  client.off("alarm", onAlarm);
  client.off("lost", onLost);
  client.off("note", onNote);
  client.off("problem", onProblem);
  client.off("question", onQuestion);
  return { result, wasHeld };
}

/** Shows what a run does and waits for on this line, until the answer is called. */
export function showProgress(
  run: ActiveRun,
  line: LiveLine,
  onNews?: (run: ActiveRun, energised: readonly string[]) => boolean,
): () => void {
  const last = new Map<string, FeedReading>();
  let atMs = 0;
  const show: Parameters<typeof run.on<"progress">>[1] = (events, progress) => {
    atMs = events.at(-1)?.atMs ?? atMs;
    for (const event of events) if (event.event === "reading") last.set(event.reading.feed, event.reading);
    const { stage, feed, waitingFor, sinceMs, expectedMs, energised } = progress;
    if (onNews?.(run, energised) === true) line.end();
    // Before its start and after its end a run waits for nothing.
    if (feed === null && expectedMs === null && energised.length === 0) return;
    const isShown = (each: FeedReading): boolean =>
      energised.includes(each.feed) || Math.abs(voltsOf(each) ?? 0) > SHOWN_VOLTS;
    const readings = [...last.values()].filter(isShown);
    line.show({
      step: `${stage} ${feed ?? ""}`,
      plain: `${stage}: waiting for ${waitingFor}`,
      live: (width) => runLine({ stage, feed, waitingFor, waitedMs: atMs - sinceMs, expectedMs, readings }, width),
    });
  };
  run.on("progress", show);
  return () => void run.off("progress", show);
}

/** The bench's question to a person, as a sentence. */
export function questionText({ asks, feed, fromAmps, toAmps, because }: BenchQuestion): string {
  if (asks !== "raise-limit") return `${because}. Is ${feed} switched ${asks === "manual-on" ? "on" : "off"}?`;
  return `${because}. Raise the limit of ${feed} from ${fromAmps} A to ${toAmps} A, for one attempt of at most 1 s?`;
}
