import { BenchError } from "../../../shared/bench-error.ts";
import { BoardFile } from "../../../shared/files/board-file.ts";
import { parseJson } from "../../system/parse-json.ts";

/** A board file that came as text from the page. Throws BenchError "bad-input" naming the first field that is wrong. */
export function boardFromText(text: string): BoardFile {
  let document: unknown;
  try {
    document = parseJson(text);
  } catch (cause) {
    throw new BenchError(
      "bad-input",
      `Cannot read the board file: ${cause instanceof Error ? cause.message : "not JSON"}; nothing was touched`,
      { cause },
    );
  }
  const parsed = BoardFile.safeParse(document);
  if (parsed.success) return parsed.data;
  const problems = parsed.error.issues
    .slice(0, 8)
    .map((issue) => `${issue.path.join(".") || "the document"}: ${issue.message}`);
  throw new BenchError("bad-input", `Cannot use the board file: ${problems.join("; ")}; nothing was touched`, {
    detail: { problems },
  });
}
