import { BenchError } from "../../shared/bench-error.ts";
import { messageOf } from "../../shared/words/message-of.ts";

const UNTRUSTED = "this computer trusts nobody who signed its certificate";

/** Codes of PostgreSQL (its manual, appendix A), of the system and of TLS in words for a person. */
const SAID: Record<string, string> = {
  "28P01": "the password is wrong",
  "28000": "this role may not log in",
  "42501": "this role lacks permissions; run `firstamp shop init` as the owner of the database",
  "42P01": "its tables do not exist; run `firstamp shop init` as the owner of the database",
  "53100": "its disk is full",
  "57P01": "it is shutting down",
  "57P03": "it is starting or shutting down",
  ECONNRESET: "the connection to it was cut",
  ECONNREFUSED: "no answer from it",
  ENOTFOUND: "the host does not exist",
  CERT_HAS_EXPIRED: "its certificate has expired",
  DEPTH_ZERO_SELF_SIGNED_CERT: UNTRUSTED,
  SELF_SIGNED_CERT_IN_CHAIN: UNTRUSTED,
  UNABLE_TO_GET_ISSUER_CERT_LOCALLY: UNTRUSTED,
  UNABLE_TO_VERIFY_LEAF_SIGNATURE: UNTRUSTED,
};

const codeOf = (cause: unknown): string =>
  cause instanceof Error && "code" in cause && typeof cause.code === "string" ? cause.code : "";

/** Why the other side could not be used, in words, without the password that may be in what a library says. */
export function whyAway(cause: unknown): string {
  if (cause instanceof AggregateError && cause.errors.length > 0) return whyAway(cause.errors[0]);
  return SAID[codeOf(cause)] ?? withoutPassword(messageOf(cause));
}

/** A text with the password of any address in it left out. */
export const withoutPassword = (text: string): string => text.replace(/(\/\/[^\s/:@]*):[^\s/@]*@/g, "$1@");

/** Whether two transactions waited for each other and one of them only has to be done again. */
export const isWorthRepeating = (cause: unknown): boolean => ["40P01", "40001"].includes(codeOf(cause));

/** Whether the database says that another record files under the same origin. */
export const isCopied = (cause: unknown): boolean =>
  cause instanceof BenchError && cause.code === "bad-input" && cause.message.includes("one is a copy of the other");

/** Whether the database says that the role may not do what was asked. */
export const isRefused = (cause: unknown): boolean => codeOf(cause) === "42501";
