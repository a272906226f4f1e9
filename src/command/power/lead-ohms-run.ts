import { readFile, writeFile } from "node:fs/promises";
import { BenchError } from "../../../shared/bench-error.ts";
import { BenchFile } from "../../../shared/files/bench-file.ts";
import { sayOhms } from "../../../shared/words/amounts.ts";
import { mustEndOff } from "../../daemon/run/task-wishes.ts";
import { judgeLeadOhms, type LeadOhmsJudgement } from "../../verdict/lead-ohms.ts";
import { print, say } from "../text/people.ts";
import { type EndedTask, runTask } from "./task-run.ts";
import type { BenchOptions } from "./with-bench.ts";

export interface LeadOhmsOptions extends BenchOptions {
  feed: string;
  joined?: boolean;
  write?: boolean;
}

const CAUTIONS = [
  "No board is on these leads. Their two ends are joined at the card end, and they carry their highest current.",
];

/** Places that a figure of so much uncertainty is written with, ohms. */
const STEP_OHMS = 0.0001;
const even = (ohms: number): number => Number((Math.round(ohms / STEP_OHMS) * STEP_OHMS).toFixed(4));

/** Measures the resistance of one feed's leads from the command line; answers with the exit code. */
export async function leadOhms(options: LeadOhmsOptions): Promise<number> {
  mustEndOff(options.keepOn, "a measurement of the leads");
  let measured: LeadOhmsJudgement | null = null;
  const code = await runTask(options, {
    purpose: "leads",
    wish: { task: { task: "leads", feed: options.feed, joined: options.joined === true } },
    cautions: CAUTIONS,
    question: ({ plan }) =>
      `Send ${plan.inject?.levelsAmps[0] ?? 0} A through the joined leads of ${options.feed} for 1.5 s?`,
    more: (ended) => {
      measured = ended === null ? null : judged(ended, options.feed);
      return { feed: options.feed, ...documentOf(measured) };
    },
    print: (document) => print(textOf(options.feed, measured, document.output)),
  });
  // The type checker does not see that the callback assigns.
  const found = measured as LeadOhmsJudgement | null;
  if (code !== 0) return code;
  if (found?.kind !== "good") return 1;
  if (options.write === true) await writeInto(options, found);
  else
    say(
      `In the bench file: "leadOhms": ${even(found.ohms)}, "leadExpandedOhms": ${even(found.expandedOhms)} (--write puts it there)`,
    );
  return code;
}

const documentOf = (found: LeadOhmsJudgement | null): object =>
  found?.kind === "good"
    ? { leadOhms: even(found.ohms), leadExpandedOhms: even(found.expandedOhms) }
    : { leadOhms: null, leadExpandedOhms: null, leadsBecause: found?.because ?? "nothing was measured" };

function judged({ run, result }: EndedTask, feed: string): LeadOhmsJudgement {
  const { trip, ended } = result.outcome;
  if (trip !== null || ended !== "as-planned")
    return { kind: "refused", because: trip?.because ?? `the measurement ended ${ended}` };
  const trace = run.traces().find((each) => each.feed === feed);
  const limitAmps = result.header.plan.inject?.levelsAmps[0] ?? 0;
  return trace === undefined ? { kind: "refused", because: "nothing was read" } : judgeLeadOhms(trace, limitAmps);
}

function textOf(feed: string, found: LeadOhmsJudgement | null, output: string): string {
  const off = `Output: ${output}`;
  return found?.kind === "good"
    ? `The resistance of the leads of ${feed} is ${sayOhms(found.ohms, found.expandedOhms)} (k = 2). ${off}`
    : `The leads of ${feed} were not measured: ${found?.because ?? "nothing was energised"}. ${off}`;
}

/** The bench file with what was measured, the rest as it was; its layout is made anew. */
async function writeInto(
  { bench, feed }: LeadOhmsOptions,
  { ohms, expandedOhms }: Extract<LeadOhmsJudgement, { kind: "good" }>,
): Promise<void> {
  const document = JSON.parse(await readFile(bench, "utf8"));
  document.feeds[feed] = { ...document.feeds[feed], leadOhms: even(ohms), leadExpandedOhms: even(expandedOhms) };
  if (!BenchFile.safeParse(document).success)
    throw new BenchError(
      "bad-input",
      `Cannot write the leads into ${bench}: the file changed during the measurement; the output is off`,
    );
  await writeFile(bench, `${JSON.stringify(document, null, 2)}\n`);
  say(`Written to ${bench}.`);
}
