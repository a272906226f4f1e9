import type { z } from "zod";

const KINDS: Readonly<Record<string, string>> = {
  object: "an object, { … }",
  record: "an object, { … }",
  array: "a list, [ … ]",
  tuple: "a list, [ … ]",
  string: "a text in quotes",
  int: "a whole number",
  boolean: "true or false",
  null: "null",
};

/** The unit that a bound counts, after its number. */
const COUNTED: Readonly<Record<string, string>> = { string: " characters", array: " entries", map: " entries" };

/**
 * Says in plain words what should have stood in a place that a schema refused: an error map for zod. The words of the
 * schemas themselves go before these; other kinds of complaint keep zod's own words.
 */
export const shouldBe: z.core.$ZodErrorMap = (issue) => {
  switch (issue.code) {
    case "invalid_type":
      return `it should be ${KINDS[issue.expected] ?? `a ${issue.expected}`}`;
    case "invalid_value":
      return issue.values.length === 1
        ? `it should be ${JSON.stringify(issue.values[0])}`
        : `it should be one of ${issue.values.map((each) => JSON.stringify(each)).join(", ")}`;
    case "too_small":
      return `it should be ${issue.inclusive === false ? "more than" : "at least"} ${issue.minimum}${COUNTED[issue.origin] ?? ""}`;
    case "too_big":
      return `it should be ${issue.inclusive === false ? "less than" : "at most"} ${issue.maximum}${COUNTED[issue.origin] ?? ""}`;
    case "not_multiple_of":
      return `it should be a multiple of ${issue.divisor}`;
    default:
      return undefined;
  }
};
