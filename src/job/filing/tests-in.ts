import { explainIssues } from "../../../shared/files/explain-issues.ts";
import { type HostTest, HostTestFile } from "../../../shared/record/host-test.ts";
import { shouldBe } from "../../../shared/words/should-be.ts";
import { JsonProblem, parseJson } from "../../system/parse-json.ts";

/** A text that is meant as test results, whatever state it is in. */
const isAboutTests = (text: string): boolean =>
  /"tests"\s*:/.test(text) || (/"name"\s*:/.test(text) && /"result"\s*:/.test(text));

/**
 * Tests done elsewhere, by the JSON that a script writes: one test, a list, or `{ "tests": [ … ] }`. A text is a sentence on what is wrong
 * with results that cannot be taken in; null: it is about something else. `isAsked`: a person says that it is results.
 */
export function testsIn(text: string, { isAsked = false } = {}): HostTest[] | string | null {
  const start = text.replace(/^\uFEFF/, "").trimStart();
  const looksSo = isAsked || (/^[[{]/.test(start) && isAboutTests(start));
  if (!looksSo) return null;
  let document: unknown;
  try {
    document = parseJson(start);
  } catch (cause) {
    if (!(cause instanceof JsonProblem)) throw cause;
    return `${cause.message}${cause.position === null ? "" : ` in line ${start.slice(0, cause.position).split("\n").length}`}; it should be one complete JSON document`;
  }
  const parsed = HostTestFile.safeParse(document, { error: shouldBe });
  if (parsed.success) {
    const { data } = parsed;
    return Array.isArray(data) ? data : "tests" in data ? data.tests : [data];
  }
  return explainIssues(parsed.error.issues, { document, schema: HostTestFile }).join("; ");
}
