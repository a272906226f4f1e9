import { BenchError, quoted } from "../../../shared/bench-error.ts";
import { shortId } from "../store/uuid-v7.ts";

const LEAST_DIGITS = 4;
/** Digits of an id's shown form. */
const SHORT = 8;

/** Patterns of SQL's LIKE for the ids that `text` may mean; `findId` then says which. Never empty. */
export function candidatesFor(text: string): string[] {
  const digits = text.trim().toLowerCase().replaceAll("-", "");
  if (!/^[0-9a-f]{4,32}$/.test(digits)) return [""];
  const begins = `${dashed(digits)}%`;
  const ends = `%${reversed(dashed(reversed(digits), [12, 4, 4, 4, 8]))}`;
  if (digits.length > SHORT) return [begins, ends];
  return [begins, ends, `%${digits}${"_".repeat(SHORT - digits.length)}`];
}

const reversed = (text: string): string => [...text].reverse().join("");

/** Digits with the dashes of a UUID between them. */
function dashed(digits: string, groups: readonly number[] = [8, 4, 4, 4, 12]): string {
  const parts: string[] = [];
  let at = 0;
  for (const length of groups) {
    if (at < digits.length) parts.push(digits.slice(at, at + length));
    at += length;
  }
  return parts.join("-");
}

/**
 * Which of `ids` a person means by `text`: a whole id, or at least four digits of one that begin or end the id, or begin
 * its short form; upper or lower case, dashes or not. Throws BenchError "bad-input" when none fits, or when several do
 * (it names them with what `describe` says of each).
 */
export function findId(
  text: string,
  ids: readonly string[],
  what: string,
  describe: (id: string) => string = () => "",
): string {
  const wanted = text.trim().toLowerCase().replaceAll("-", "");
  if (!/^[0-9a-f]{1,32}$/.test(wanted)) {
    throw new BenchError(
      "bad-input",
      `${quoted(text)} is not a ${what} id; it should be digits as "job list" shows them (0-9, a-f)`,
    );
  }
  const bare = (id: string) => id.replaceAll("-", "");
  const whole = ids.find((id) => bare(id) === wanted);
  if (whole !== undefined) return whole;
  if (wanted.length < LEAST_DIGITS) {
    throw new BenchError(
      "bad-input",
      `${quoted(text)} is too short for a ${what} id; give at least ${LEAST_DIGITS} digits`,
    );
  }
  const fits = ids.filter(
    (id) => bare(id).startsWith(wanted) || bare(id).endsWith(wanted) || shortId(id).startsWith(wanted),
  );
  const [only] = fits;
  if (only !== undefined && fits.length === 1) return only;
  if (only === undefined) {
    throw new BenchError("bad-input", `This record has no ${what} ${quoted(text)}; "job list" shows its jobs`);
  }
  const listed = fits.slice(0, 10).map((id) => `${shortId(id)} ${describe(id)}`.trim());
  if (fits.length > 10) listed.push(`and ${fits.length - 10} more`);
  throw new BenchError(
    "bad-input",
    `${quoted(text)} fits ${fits.length} ${what}s: ${listed.join("; ")}; give more digits`,
    {
      detail: { fits },
    },
  );
}
