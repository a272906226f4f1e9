import type { z } from "zod";
import { BenchError, quoted } from "../../../shared/bench-error.ts";
import { explainIssues } from "../../../shared/files/explain-issues.ts";
import { messageOf } from "../../../shared/words/message-of.ts";
import { shouldBe } from "../../../shared/words/should-be.ts";
import { JsonProblem, parseJson } from "../../system/parse-json.ts";
import { readPlainFile } from "../../system/read-plain-file.ts";

const why = (cause: unknown): string => {
  const code = cause instanceof Error && "code" in cause ? cause.code : undefined;
  if (code === "ENOENT") return "the file does not exist";
  if (code === "EACCES" || code === "EPERM") return "this user may not read it";
  return messageOf(cause);
};

/** Line and column of a position in a text, counted from one. */
function place(text: string, position: number): string {
  const before = text.slice(0, position).split("\n");
  return `line ${before.length}, column ${(before.at(-1)?.length ?? 0) + 1}`;
}

/** The text as JSON, or a sentence that says where it stops being JSON, or which key is there twice. */
function parsed(text: string, what: string, file: string): unknown {
  try {
    return parseJson(text);
  } catch (cause) {
    if (!(cause instanceof JsonProblem)) throw cause;
    const where = cause.position === null ? "" : ` at ${place(text, cause.position)}`;
    throw new BenchError(
      "bad-input",
      `Cannot read ${what} ${quoted(file)}: ${cause.message}${where}; it should be one complete JSON document; nothing was touched`,
      { cause },
    );
  }
}

/**
 * Reads a JSON document a person wrote and checks it against its schema. Throws BenchError "bad-input" naming the file,
 * the path of each field that is wrong, what is there and what should be.
 */
export async function readDocument<S extends z.ZodType>(options: {
  schema: S;
  /** As in a sentence: "bench file". */
  what: string;
  file: string;
}): Promise<z.output<S>> {
  const { schema, what, file } = options;
  let text: string;
  try {
    text = await readPlainFile(file);
  } catch (cause) {
    throw new BenchError("bad-input", `Cannot read ${what} ${quoted(file)}: ${why(cause)}; nothing was touched`, {
      cause,
    });
  }
  return checkDocument({
    schema,
    what: `${what} ${quoted(file)}`,
    document: parsed(text.replace(/^\uFEFF/, ""), what, file),
  });
}

/** The document as its schema has it; throws BenchError "bad-input" with every field that is wrong. */
export function checkDocument<S extends z.ZodType>(options: {
  schema: S;
  what: string;
  document: unknown;
}): z.output<S> {
  const result = options.schema.safeParse(options.document, { error: shouldBe });
  if (result.success) return result.data;
  const problems = explainIssues(result.error.issues, options);
  throw new BenchError("bad-input", `Cannot use ${options.what}: ${problems.join("; ")}; nothing was touched`, {
    detail: { problems },
  });
}
