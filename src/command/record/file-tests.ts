import { BenchError, quoted } from "../../../shared/bench-error.ts";
import { HostTest, HostTestFile } from "../../../shared/record/host-test.ts";
import { notesOnRepair } from "../../job/known/since-repair.ts";
import { hostTestText } from "../../job/report/host-text.ts";
import { checkDocument, readDocument } from "../input/read-document.ts";
import { printDocument, say } from "../text/people.ts";
import { withRecord } from "./with-record.ts";

export interface TestWords {
  name: string | undefined;
  result: string | undefined;
  text: readonly string[];
}

export interface FileTestsOptions {
  data?: string;
  json?: boolean;
  file?: string;
  by?: string;
  at: readonly string[];
  hottest?: { where: string; celsius: number };
}

/** Files tests from the words of a command line, or from a file. Throws BenchError "bad-input" for what is neither. */
export async function fileTests(job: string, words: TestWords, options: FileTestsOptions): Promise<void> {
  const tests = options.file === undefined ? [testFromWords(words, options)] : await testsFromFile(options.file, words);
  let notes: string[] = [];
  const filed = await withRecord(options.data, async (store) => {
    const id = await store.findJob(job);
    notes = notesOnRepair(
      await store.events(id),
      tests.map((test) => ({ kind: "test", test })),
    );
    const events = [];
    for (const test of tests) {
      const { id: event, seq } = await store.appendEvent(id, { kind: "test", test });
      events.push({ event, seq, ...test });
      if (!options.json) say(`Filed as entry ${seq}: ${hostTestText(test)}`);
    }
    return { job: id, tests: events };
  });
  if (options.json) printDocument(filed);
  for (const note of notes) say(`note: ${note}`);
}

async function testsFromFile(file: string, { name }: TestWords): Promise<HostTest[]> {
  if (name !== undefined)
    throw new BenchError(
      "bad-input",
      `Cannot file the tests of ${quoted(file)}: ${quoted(name)} was given as well; give either a file, or a name and a result; nothing was filed`,
    );
  const document = await readDocument({ schema: HostTestFile, what: "test results", file });
  return Array.isArray(document) ? document : "tests" in document ? document.tests : [document];
}

function testFromWords({ name, result, text }: TestWords, { by, at, hottest }: FileTestsOptions): HostTest {
  if (name === undefined || result === undefined)
    throw new BenchError(
      "bad-input",
      "Cannot file a test: give a name and a result, such as host-boots 5/5, or --file; nothing was filed",
    );
  return checkDocument({
    schema: HostTest,
    what: `the test ${quoted(name)}`,
    document: {
      name,
      ...outcomeOf(result),
      ...(at.length === 0 ? {} : { addresses: at }),
      ...(hottest === undefined ? {} : { hottest }),
      text: text.length === 0 ? null : text.join(" "),
      by: by ?? null,
    },
  });
}

const MINUTES: Record<string, number> = { s: 1 / 60, min: 1, h: 60 };

/** The result that its words say: "5/5", "40min", "pass". */
function outcomeOf(text: string): Pick<HostTest, "result" | "passed" | "of" | "minutes"> {
  if (text === "pass" || text === "fail" || text === "done") return { result: text };
  const [, passed, of] = /^(\d+)\/(\d+)$/.exec(text) ?? [];
  if (passed !== undefined && of !== undefined && Number(of) > 0 && Number(passed) <= Number(of))
    return { result: passed === of ? "pass" : "fail", passed: Number(passed), of: Number(of) };
  const [, time, unit] = /^(\d+(?:\.\d+)?)(s|min|h)$/.exec(text) ?? [];
  if (time !== undefined && unit !== undefined) return { result: "done", minutes: Number(time) * (MINUTES[unit] ?? 1) };
  throw new BenchError(
    "bad-input",
    `Cannot file the test: its result is ${quoted(text)}; it should be pass, fail, done, a count such as 5/5, or a time such as 40min, 2h or 90s; nothing was filed`,
  );
}
