import { BenchError } from "../../../shared/bench-error.ts";
import { withWords, wordsOf } from "../../../shared/record/corrected-event.ts";
import { CorrectableEvent, type StoredEvent, TAKEN_BACK } from "../../../shared/record/job.ts";
import { eventText } from "../../job/report/event-text.ts";
import { currentEvents } from "../../job/store/current-events.ts";
import { runsOf } from "../../job/store/runs-of.ts";
import { shippedFaultData } from "../../verdict/diagnosis/shipped-fault-data.ts";
import { checkAnswer } from "../input/check-answer.ts";
import { printDocument, say } from "../text/people.ts";
import { withRecord } from "./with-record.ts";

/** Files that an entry should have said something else. Throws BenchError "bad-input" where it cannot, and files nothing. */
export async function correctEntry(
  { job, entry, words }: { job: string; entry: number; words: string },
  options: { data?: string; json?: boolean; because: string; takeBack?: true },
): Promise<void> {
  const because = options.because.trim();
  if (because === "") throw refused("--because is empty; say why, in a word or two");
  const filed = await withRecord(options.data, async (store) => {
    const id = await store.findJob(job);
    const log = await store.events(id);
    const found = log.find((each) => each.seq === entry);
    if (found === undefined) throw refused(`the job has no entry ${entry}; "job show" lists its entries`);
    const event = correctedOf(found, log, { words, takesBack: options.takeBack === true });
    const { id: correction, seq } = await store.appendEvent(id, { kind: "correction", of: found.id, because, event });
    return { job: id, event: correction, seq, corrects: found.seq, now: event };
  });
  if (options.json) printDocument(filed);
  else say(`Filed as entry ${filed.seq}; entry ${filed.corrects} now reads: ${eventText(filed.now)}`);
}

function correctedOf(
  { id, event, seq }: StoredEvent,
  log: readonly StoredEvent[],
  { words, takesBack }: { words: string; takesBack: boolean },
): CorrectableEvent {
  // A second correction builds on the first.
  const now = CorrectableEvent.safeParse(currentEvents(log).find((each) => each.id === id)?.event);
  const said = now.success ? wordsOf(now.data) : null;
  if (!now.success || said === null)
    throw refused(
      `entry ${seq} is "${event.kind}", which is not corrected by words; "job correct --help" says what is`,
    );
  if (takesBack && (now.data.kind !== "answer" || words !== ""))
    throw refused(
      words === "" ? `entry ${seq} is no answer; only an answer is taken back` : "give either words or --take-back",
    );
  if (words === "" && !takesBack) throw refused("say what it should say, or give --take-back");
  if (now.data.kind === "answer" && !takesBack) {
    const board = runsOf(log).findLast((run) => run.header.board !== null)?.header.board;
    if (board != null) checkAnswer({ ...now.data, answer: words }, board, shippedFaultData());
  }
  const right = withWords(now.data, takesBack ? TAKEN_BACK : words);
  if (right === null) throw refused(`entry ${seq} cannot say that; a test says pass, fail or done`);
  return right;
}

const refused = (why: string): BenchError => new BenchError("bad-input", `Cannot correct: ${why}; nothing was filed`);
