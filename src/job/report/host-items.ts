import type { HostTest } from "../../../shared/record/host-test.ts";
import type { JobEventOf, StoredEvent } from "../../../shared/record/job.ts";
import { sinceRepair } from "../known/since-repair.ts";
import { cyclesText, HOST_WORDS, hostTestText } from "./host-text.ts";
import type { TestedItem } from "./tested-items.ts";

/** Names under which the tests that every board should have are filed. */
const BOOTS = "host-boots";
const MEMORY = "memory";
const LOAD = "load";

/** Checks at a host after the last repair, from what was filed of them; those that every board should have are always there. */
export function hostItems(log: readonly StoredEvent[]): TestedItem[] {
  const since = sinceRepair(log);
  const tests = new Map<string, HostTest>();
  for (const event of since) if (event.kind === "test") tests.set(event.test.name, event.test);
  const looks = since.filter((event) => event.kind === "host-look").filter((event) => event.of === "board");
  const cycles = since.findLast((event) => event.kind === "cycles");
  const others = [...tests].filter(([name]) => ![BOOTS, MEMORY, LOAD].includes(name));
  return [
    recognised(tests.get(BOOTS), looks.at(-1)),
    filed("Memory test", tests.get(MEMORY)),
    filed("Load test, with temperatures watched", tests.get(LOAD)),
    ...(cycles === undefined ? [] : [cyclesItem(cycles)]),
    ...others.map(([name, test]) => filed(name, test)),
  ];
}

const RESULTS = { pass: "pass", fail: "fail", done: "conditional" } as const;

function filed(what: string, test: HostTest | undefined): TestedItem {
  if (test === undefined) return { what, result: "not tested", because: "nothing was filed about it" };
  const said = test.result === "done" ? ", result not stated" : "";
  return { what, result: RESULTS[test.result], because: `${hostTestText(test)}${said}` };
}

/** Starts at a host and its last look together: the worse of the two holds. */
function recognised(boots: HostTest | undefined, look: JobEventOf<"host-look"> | undefined): TestedItem {
  const what = "Recognised by a host at every start, with its full link";
  if (look === undefined && boots === undefined) return filed(what, undefined);
  const said = [
    ...(boots === undefined ? ["the number of starts was not filed"] : [hostTestText(boots)]),
    ...(look === undefined ? ["its link was not checked"] : [HOST_WORDS[look.verdict.word]]),
  ];
  const isGood = look?.verdict.word === "enumerated";
  const isBad = look !== undefined && !isGood && look.verdict.word !== "cannot-tell";
  const result =
    isBad || boots?.result === "fail" ? "fail" : isGood && boots?.result === "pass" ? "pass" : "conditional";
  return { what, result, because: said.join("; ") };
}

function cyclesItem({ result }: JobEventOf<"cycles">): TestedItem {
  const isClean = result.clean === result.cycles && result.cycles > 0;
  return {
    what: "Started many times, cold and warm",
    result: isClean ? "pass" : result.endedBy === "bench" || result.endedBy === "person" ? "conditional" : "fail",
    because: cyclesText(result),
  };
}
